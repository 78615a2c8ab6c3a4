"""What to change: where a machine should stand, what a field does to verdicts, the smallest fix."""
