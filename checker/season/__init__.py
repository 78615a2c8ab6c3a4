"""Many loads held against rules: what a change of the rules would do to them."""
