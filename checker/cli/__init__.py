"""The command line: one short file per command; the other packages do the work."""
