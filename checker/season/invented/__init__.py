"""A season that never was: plausible hauls for trying an audit, for tests and for benchmarks."""
