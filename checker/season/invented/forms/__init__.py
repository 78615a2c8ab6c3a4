"""A haul log in each form that can be read back; modules are imported when they are needed."""
