"""Advice: where a machine should stand, how a field changes the verdicts, the smallest fix."""
