"""A page in the machine's own browser."""

from pathlib import Path
from typing import Any, Literal

from axe_playwright_python.base import AXE_SCRIPT
from playwright.sync_api import Browser, ConsoleMessage, Error, Page, Request

SIZES = PHONE, TABLET, DESK = (360, 740), (800, 1000), (1280, 900)
VIOLATIONS = """(options) => axe.run({resultTypes: ["violations"], ...options})
  .then((found) => found.violations.map((each) => [each.id, each.nodes[0].html]))"""
SCHEMES: tuple[Literal["light", "dark"], ...] = ("light", "dark")
# No other rule of axe reads a colour, so no other can find another answer in the other scheme.
COLOUR_RULES = ("color-contrast", "link-in-text-block")
COLOURS = {"runOnly": [*COLOUR_RULES]}
ALL_BUT_COLOURS = {"rules": {rule: {"enabled": False} for rule in COLOUR_RULES}}
# What a scheme sets and is not a colour.
OTHER_THAN_COLOURS = """() => [...document.styleSheets].flatMap((sheet) => [...sheet.cssRules])
  .filter((part) => part.conditionText?.includes("prefers-color-scheme"))
  .flatMap((part) => [...part.cssRules])
  .flatMap((rule) => [...rule.style].map((name) => [name, rule.style.getPropertyValue(name)]))
  .filter(([name, value]) => !CSS.supports("color", value))"""

# Colours follow from elements, their classes and what they stand in. Of a page's two hundred
# findings most are made of elements that the ones before them have in the same places; without
# those the colours are looked at in a tenth of the time. What has a link stays: whether a link
# stands in a text is a matter of its words.
_PATH = """(each) => {
  let path = "";
  for (let at = each; at; at = at.parentElement)
    path += `${at.tagName}.${at.getAttribute("class")} `;
  return path;
}"""
PATHS = f'() => [...new Set([...document.querySelectorAll("*")].map({_PATH}))].sort()'
# Only the innermost: a part that others stand in would repeat all of them.
WITHOUT_REPEATED_PARTS = f"""() => {{
  for (const kind of ["p", "li", "details"]) {{
    const seen = new Set();
    for (const part of document.querySelectorAll(`${{kind}}:not(:has(${{kind}}, a))`)) {{
      const paths = [part, ...part.querySelectorAll("*")].map({_PATH});
      if (paths.every((path) => seen.has(path))) part.remove();
      paths.forEach((path) => seen.add(path));
    }}
  }}
}}"""


class Opened:
    """A page with everything it asked for and complained of, in the one tab of the browser.

    A tab of its own takes twice as long to open; one is made for `more` alone, options of a tab.
    """

    def __init__(
        self, browser: Browser, file: Path, size: tuple[int, int], scheme: Any, **more: Any
    ) -> None:
        if more or not browser.contexts:
            browser.new_context(**more).new_page()
        self.page: Page = browser.contexts[-1].pages[0]
        self._own = bool(more)
        self._set_width(size)
        self.page.emulate_media(color_scheme=scheme, media="null")
        self.asked: list[str] = []
        self.said: list[str] = []
        self.page.on("request", self._request)
        self.page.on("console", self._console)
        self.page.on("pageerror", self._error)
        self.page.goto(file.as_uri())

    def close(self) -> None:
        """Leave the tab to the next page."""
        if self._own:
            self.page.context.close()
            return
        self.page.remove_listener("request", self._request)
        self.page.remove_listener("console", self._console)
        self.page.remove_listener("pageerror", self._error)

    def _request(self, request: Request) -> None:
        self.asked.append(request.url)

    def _console(self, message: ConsoleMessage) -> None:
        self.said.append(message.text)

    def _error(self, error: Error) -> None:
        self.said.append(str(error))

    def is_whole_and_accessible(self) -> None:
        """Nothing else is fetched, nothing is complained of or runs off the side, all can read.

        At every width and in both colour schemes. Takes parts out of the page, so comes last.
        """
        assert len(self.asked) == 1
        assert self.said == []
        self._runs_off_no_side(SIZES)
        # Folded parts are not looked at by the check, so all of them are opened first.
        self.page.evaluate("document.querySelectorAll('details').forEach(each => each.open = true)")
        self._runs_off_no_side(SIZES[::-1])
        # The whole of a page is looked at once, at its narrowest, where most might touch. What
        # another width or scheme changes it changes in all parts of one kind.
        assert self._violations(ALL_BUT_COLOURS) == []
        paths = self.page.evaluate(PATHS)
        self.page.evaluate(WITHOUT_REPEATED_PARTS)
        assert self.page.evaluate(PATHS) == paths
        assert self.page.evaluate(OTHER_THAN_COLOURS) == []
        for scheme in SCHEMES:
            self.page.emulate_media(color_scheme=scheme)
            # By far the longest to look at, and a matter of the scheme and not of the width.
            assert self._violations(COLOURS) == [], scheme
        for size in (TABLET, DESK):
            self._set_width(size)
            assert self._violations(ALL_BUT_COLOURS) == [], size
        assert self.said == []

    def _runs_off_no_side(self, sizes: tuple[tuple[int, int], ...]) -> None:
        """No part is wider than the page; leaves it at the last size."""
        for size in sizes:
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
