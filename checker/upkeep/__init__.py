"""Maintenance of rule files and profiles: proofs, faults, changes, new files."""
