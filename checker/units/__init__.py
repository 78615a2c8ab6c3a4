"""Numbers: text with units to SI and back, and arithmetic over one value or many."""
