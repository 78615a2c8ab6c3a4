"""Rules as data: formulas, dated thresholds and their sources, layered and in force on a date."""
