"""The runs that reports are tested with."""

from tests.reports.conftest import bundled, rulebooks, runs, unreadable

__all__ = ["bundled", "rulebooks", "runs", "unreadable"]
