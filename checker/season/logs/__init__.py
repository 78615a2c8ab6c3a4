"""Haul logs of every form, read in batches: `opening.open_log` picks the form."""
