"""Slips of whoever wrote the log: names that are alike, haul numbers used twice."""
