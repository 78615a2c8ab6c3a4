"""Shared by several reports: words, pages, drawings, and the records behind a report."""
