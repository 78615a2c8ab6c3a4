"""Holds load profiles of machines on trailers against cited, dated rules."""

__version__ = "0.1.0"
