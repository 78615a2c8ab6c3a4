"""What differs between two states of the rules of a project, without any load."""
