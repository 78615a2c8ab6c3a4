"""YAML files to plain data with the place of every key and value, and every problem located."""
