"""Evaluation: rules in force on a day, held against a load of any number of rows."""
