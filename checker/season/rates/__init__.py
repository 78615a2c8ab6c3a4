"""How often hauls are on hold, and which differences chance does not explain."""
