"""Writing amendments: one change into a file, every other byte of it as it was."""
