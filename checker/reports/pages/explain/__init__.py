"""The working of one rule on one load, line by line, to be checked with a calculator."""
