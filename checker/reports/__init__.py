"""Checks as people and machines read them: one adapter per file, none knows another."""
