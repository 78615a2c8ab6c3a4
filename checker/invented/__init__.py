"""Generates logs of invented hauls, for trying an audit, for tests and for benchmarks."""
