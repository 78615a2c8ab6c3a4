"""Evaluates the rules in force on a day for a load of any number of rows."""
