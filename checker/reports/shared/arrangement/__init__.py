"""An arrangement in words: steps for a crew, what they change, what remains."""
