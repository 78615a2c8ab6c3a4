"""A load as a page to look at: one file that needs nothing else, on a screen or on paper."""

from checker.reports.check_forms.html.page import index, page_names, report

__all__ = ["index", "page_names", "report"]
