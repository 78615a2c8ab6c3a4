"""Lists of statements that contradict each other or cannot be true, and code to test for them."""
