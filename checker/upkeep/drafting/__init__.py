"""New files: a commented template, or one filled in by questions; both are always valid."""
