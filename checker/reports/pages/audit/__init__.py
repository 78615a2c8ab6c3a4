"""The text report of an audit."""
