"""The runs that reports are tested with, and a browser to look at them."""

import os
import shutil
from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, sync_playwright

from tests.reports.conftest import bundled, rulebooks, runs, season, unreadable

__all__ = ["bundled", "rulebooks", "runs", "season", "unreadable"]
BROWSERS = ("chromium", "chromium-browser", "google-chrome")


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """The machine's own browser, without a screen."""
    found = next(filter(None, map(shutil.which, BROWSERS)), None)
    if found is None:
        pytest.skip(f"no browser on this machine; wanted one of: {', '.join(BROWSERS)}")
    # Inside containers, where everything runs as root, the browser refuses its own sandbox.
    sandbox = [] if os.geteuid() else ["--no-sandbox"]
    quiet = ["--disable-background-networking", "--no-first-run", "--disable-gpu"]
    with sync_playwright() as player:
        started = player.chromium.launch(executable_path=found, args=[*sandbox, *quiet])
        yield started
        started.close()
