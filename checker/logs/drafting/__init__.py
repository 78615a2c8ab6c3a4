"""Proposes a mapping file for a log, from its headers and cells."""
