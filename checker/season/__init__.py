"""Audits of haul logs, and the impact of a rule change on saved loads and hauls."""
