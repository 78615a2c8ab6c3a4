"""The command line: one thin file per command, all work done in the rooms below."""
