"""Files of a git repository: as they stood at a revision, as staged, and what changed since."""
