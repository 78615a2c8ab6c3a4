"""A page in the machine's own browser."""

from pathlib import Path
from typing import Any, Literal

from axe_playwright_python.base import AXE_SCRIPT
from playwright.sync_api import Browser, Page

SIZES = PHONE, TABLET, DESK = (360, 740), (800, 1000), (1280, 900)
VIOLATIONS = """(options) => axe.run({resultTypes: ["violations"], ...options})
  .then((found) => found.violations.map((each) => [each.id, each.nodes[0].html]))"""
SCHEMES: tuple[Literal["light", "dark"], ...] = ("light", "dark")
CONTRAST = {"runOnly": ["color-contrast"]}
ALL_BUT_CONTRAST = {"rules": {"color-contrast": {"enabled": False}}}

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
        """Nothing else is fetched, nothing is complained of or runs off the side, all can read.

        At every width and in both colour schemes. Takes parts out of the page, so comes last.
        """
        assert len(self.asked) == 1
        assert self.said == []
        self._runs_off_no_side()
        # Folded parts are not looked at by the check, so all of them are opened first.
        self.page.evaluate("document.querySelectorAll('details').forEach(each => each.open = true)")
        self._runs_off_no_side()
        self._set_width(PHONE)
        assert self._violations(ALL_BUT_CONTRAST) == []
        # The whole of a page is looked at once, at its narrowest, where most might touch. What
        # another width or scheme changes it changes in all parts of one kind.
        paths = self.page.evaluate(PATHS)
        self.page.evaluate(WITHOUT_REPEATED_PARTS)
        assert self.page.evaluate(PATHS) == paths
        for scheme in SCHEMES:
            self.page.emulate_media(color_scheme=scheme)
            for size in SIZES:
                self._set_width(size)
                assert self._violations(ALL_BUT_CONTRAST) == [], (scheme, size)
            # By far the longest to look at, and a matter of the scheme and not of the width.
            self._set_width(PHONE)
            assert self._violations(CONTRAST) == [], scheme
        assert self.said == []

    def _runs_off_no_side(self) -> None:
        for size in SIZES:
            self._set_width(size)
            assert self.page.evaluate("document.documentElement.scrollWidth") <= size[0], size

    def _set_width(self, size: tuple[int, int]) -> None:
        width, height = size
        self.page.set_viewport_size({"width": width, "height": height})

    def _violations(self, options: dict[str, Any]) -> list[list[str]]:
        if not self.page.evaluate("'axe' in window"):
            self.page.evaluate(AXE_SCRIPT)
        found: list[list[str]] = self.page.evaluate(VIOLATIONS, options)
        return found
