"""Files of a git repository: at a revision, as staged, and what changed since."""
