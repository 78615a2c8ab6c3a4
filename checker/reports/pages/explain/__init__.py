"""The working of one rule on one load, line by line, for whoever checks it with a calculator."""
