"""Which statements of a load contradict each other or the world: data, and what reads it."""
