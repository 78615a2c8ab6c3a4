"""Rules as data: formulas, dated thresholds and their sources, layers, rules in force on a day."""
