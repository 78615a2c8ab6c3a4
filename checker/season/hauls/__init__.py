"""What a row of a log means over its load profile: hauls as rows of one load."""
