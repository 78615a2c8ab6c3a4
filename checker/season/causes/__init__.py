"""Why hauls are on hold or open: faults with one cause, fields that would decide a rule."""
