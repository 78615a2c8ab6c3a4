"""Text that commands print on a terminal, one module for each kind of page."""
