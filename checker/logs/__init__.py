"""Readers of haul logs in all forms; `opening.open_log` selects the reader."""
