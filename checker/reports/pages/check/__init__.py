"""The page of one check."""
