"""A page in the machine's own browser."""

from pathlib import Path
from typing import Any

from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page

PHONE, TABLET, DESK = (360, 740), (800, 1000), (1280, 900)


class Opened:
    """A page with everything it asked for and complained of."""

    def __init__(
        self, browser: Browser, file: Path, size: tuple[int, int], scheme: Any, **more: Any
    ) -> None:
        width, height = size
        self.width = width
        self.context = browser.new_context(
            viewport={"width": width, "height": height}, color_scheme=scheme, **more
        )
        self.page: Page = self.context.new_page()
        self.asked: list[str] = []
        self.said: list[str] = []
        self.page.on("request", lambda request: self.asked.append(request.url))
        self.page.on("console", lambda message: self.said.append(message.text))
        self.page.on("pageerror", lambda error: self.said.append(str(error)))
        self.page.goto(file.as_uri())

    def is_whole_and_accessible(self) -> None:
        """Nothing else is fetched, nothing is complained of or runs off the side, all can read."""
        assert len(self.asked) == 1
        assert self.said == []
        assert self.page.evaluate("document.documentElement.scrollWidth") <= self.width
        # Contrast is a matter of the colour scheme and not of the width, and by far the longest to
        # look at: the narrowest, where most might overlap, stands for all.
        contrast = {"color-contrast": {"enabled": self.width == PHONE[0]}}
        # Folded parts are not looked at by the check, so all of them are opened first.
        self.page.evaluate("document.querySelectorAll('details').forEach(each => each.open = true)")
        options = {"resultTypes": ["violations"], "rules": contrast}
        found = Axe().run(self.page, options=options).response["violations"]
        assert [(each["id"], each["nodes"][0]["html"]) for each in found] == []
        assert self.page.evaluate("document.documentElement.scrollWidth") <= self.width
