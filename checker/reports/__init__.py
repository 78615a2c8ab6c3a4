"""Reports of checks, audits and comparisons: one file for each form; none imports another."""
