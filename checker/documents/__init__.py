"""YAML files as plain data with the file:line:col of every key and value, and their problems."""
