"""Reads the rules as soon as it is imported, for worker processes that are forked afterwards."""

from tests.season.quick import quick_rules

quick_rules()
