"""The pages in a real browser: nothing is fetched, nothing runs off the side, all can read it."""

import os
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page, sync_playwright

from checker.reports.html import index, page_names, report
from checker.reports.words import CAUTIONS
from tests.reports.conftest import Runs, named

BROWSERS = ("chromium", "chromium-browser", "google-chrome")
PHONE, TABLET, DESK = (360, 740), (800, 1000), (1280, 900)
LOADS = (
    "rear-straps-only",
    "under-rated-straps",
    "missing-information",
    "gooseneck-two-articles-in-order",
)


@pytest.fixture(scope="module")
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


@pytest.fixture(scope="module")
def pages(runs: Runs, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the pages of some loads and the page that leads to them."""
    folder = tmp_path_factory.mktemp("pages")
    run = runs()
    names = page_names(run)
    for name, checked in zip(names, run.checked, strict=True):
        (folder / name).write_text(report(checked, run), encoding="utf-8")
    (folder / "index.html").write_text(index(run, names), encoding="utf-8")
    return folder


class Opened:
    """A page with everything it asked for and complained of."""

    def __init__(self, browser: Browser, file: Path, size: tuple[int, int], scheme: Any) -> None:
        width, height = size
        self.context = browser.new_context(
            viewport={"width": width, "height": height}, color_scheme=scheme
        )
        self.page: Page = self.context.new_page()
        self.asked: list[str] = []
        self.said: list[str] = []
        self.page.on("request", lambda request: self.asked.append(request.url))
        self.page.on("console", lambda message: self.said.append(message.text))
        self.page.on("pageerror", lambda error: self.said.append(str(error)))
        self.page.goto(file.as_uri())


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("size", [PHONE, TABLET, DESK])
@pytest.mark.parametrize("name", [*LOADS, "index"])
def test_a_page_is_whole_and_accessible(
    browser: Browser, pages: Path, name: str, size: tuple[int, int], scheme: str
) -> None:
    opened = Opened(browser, pages / f"{name}.html", size, scheme)
    assert len(opened.asked) == 1
    assert opened.said == []
    assert opened.page.evaluate("document.documentElement.scrollWidth") <= size[0]
    # Folded parts are not looked at by the check, so all of them are opened first.
    opened.page.evaluate("document.querySelectorAll('details').forEach(each => each.open = true)")
    found = Axe().run(opened.page).response["violations"]
    assert [(each["id"], each["nodes"][0]["html"]) for each in found] == []
    assert opened.page.evaluate("document.documentElement.scrollWidth") <= size[0]
    opened.context.close()


def test_a_finding_folds_open_and_shows_its_working(browser: Browser, pages: Path) -> None:
    opened = Opened(browser, pages / "rear-straps-only.html", DESK, "light")
    entry = opened.page.locator("#rule-restraint-rearward")
    why = entry.get_by_text("Why:")
    assert not why.is_visible()
    entry.locator("summary").click()
    assert why.is_visible()
    assert (
        entry.get_by_text("49 CFR 393.102").or_(entry.get_by_text("393.102(a)")).first.is_visible()
    )
    broken = opened.page.locator("#rule-four-corners-held")
    assert broken.get_by_text("Do:").is_visible()
    opened.context.close()


def test_what_is_wrong_stands_on_the_first_screen_of_a_phone(browser: Browser, pages: Path) -> None:
    opened = Opened(browser, pages / "rear-straps-only.html", PHONE, "light")
    for words in ("HOLD: do not leave", "Hook one tiedown to the frame at each corner"):
        box = opened.page.get_by_text(words).first.bounding_box()
        assert box is not None
        assert box["y"] + box["height"] <= PHONE[1]
    opened.context.close()


@pytest.mark.parametrize("name", LOADS)
def test_it_prints_on_two_sheets_for_the_cab(browser: Browser, pages: Path, name: str) -> None:
    opened = Opened(browser, pages / f"{name}.html", DESK, "dark")
    for size in ("Letter", "A4"):
        printed = opened.page.pdf(format=size)
        assert printed.count(b"/Type /Page\n") + printed.count(b"/Type /Page ") == 2
    opened.page.emulate_media(media="print")
    assert opened.page.get_by_text("Walk-around").first.is_visible()
    assert opened.page.get_by_text(CAUTIONS[0]).is_visible()
    opened.context.close()


def test_the_index_leads_to_the_pages(browser: Browser, pages: Path) -> None:
    opened = Opened(browser, pages / "index.html", PHONE, "light")
    opened.page.get_by_role("link", name="Crew side-by-side on four light straps").click()
    assert opened.page.get_by_role("heading", level=1).inner_text() == (
        "Crew side-by-side on four light straps"
    )
    opened.context.close()


def test_the_drawing_is_as_wide_as_it_should_be(browser: Browser, pages: Path, runs: Runs) -> None:
    opened = Opened(browser, pages / "side-by-side-in-order.html", DESK, "light")
    deck, machine = (
        opened.page.locator(f"svg[aria-labelledby^=above] .{part}").first.bounding_box()
        for part in ("s-deck", "s-machine")
    )
    assert deck is not None
    assert machine is not None
    # On the screen too: a deck of 120 in, a machine of 104 in.
    assert machine["width"] / deck["width"] == pytest.approx(104 / 120, rel=0.03)
    assert named(runs(), "side-by-side-in-order").check.load.title in opened.page.title()
    opened.context.close()
