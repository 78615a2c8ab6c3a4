"""A page in the machine's own browser."""

from pathlib import Path
from typing import Any

from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page

PHONE, TABLET, DESK = (360, 740), (800, 1000), (1280, 900)

# Colours follow from elements, their classes and what they stand in. Of a page's two hundred
# findings most are made of elements that the ones before them have in the same places; without
# those the contrast is looked at in a tenth of the time.
_PATH = """(each) => {
  let path = "";
  for (let at = each; at; at = at.parentElement)
    path += `${at.tagName}.${at.getAttribute("class")} `;
  return path;
}"""
PATHS = f'() => [...new Set([...document.querySelectorAll("*")].map({_PATH}))].sort()'
# Only the innermost: a part that others stand in would repeat all of them.
WITHOUT_REPEATED_PARTS = f"""() => {{
  const seen = new Set();
  for (const part of document.querySelectorAll("details:not(:has(details))")) {{
    const paths = [part, ...part.querySelectorAll("*")].map({_PATH});
    if (paths.every((path) => seen.has(path))) part.remove();
    paths.forEach((path) => seen.add(path));
  }}
}}"""


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
        # Folded parts are not looked at by the check, so all of them are opened first.
        self.page.evaluate("document.querySelectorAll('details').forEach(each => each.open = true)")
        assert self._violations({"rules": {"color-contrast": {"enabled": False}}}) == []
        assert self.page.evaluate("document.documentElement.scrollWidth") <= self.width
        # Contrast is a matter of the colour scheme and not of the width, and by far the longest to
        # look at: the narrowest, where most might overlap, stands for all. Last, as parts are
        # taken out for it.
        if self.width == PHONE[0]:
            paths = self.page.evaluate(PATHS)
            self.page.evaluate(WITHOUT_REPEATED_PARTS)
            assert self.page.evaluate(PATHS) == paths
            assert self._violations({"runOnly": ["color-contrast"]}) == []

    def _violations(self, options: dict[str, Any]) -> list[tuple[str, str]]:
        found = Axe().run(self.page, options={"resultTypes": ["violations"], **options}).response
        return [(each["id"], each["nodes"][0]["html"]) for each in found["violations"]]
