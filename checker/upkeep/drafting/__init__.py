"""New files: a commented template of a kind, or one filled by questions, that always validates."""
