"""What commands print, as documents for programs: one module for each command."""
