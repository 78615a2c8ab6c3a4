"""The pages in a real browser: nothing is fetched, nothing runs off the side, all can read it."""

from pathlib import Path

import pytest
from playwright.sync_api import Browser

from checker.documents.resources import shipped_folder
from checker.evaluation.tolerances import check_profile
from checker.load.build import read_profile
from checker.reports.check_forms.html import folder as pages_of
from checker.reports.check_forms.html.page import load_page
from checker.reports.shared.check_results import CheckedLoad
from checker.reports.shared.words import CAUTIONS
from checker.units.formatting import SI
from tests.browser.opened import DESK, PHONE, Opened
from tests.reports.conftest import Runs, named
from tests.reports.test_route import through
from tests.rules.conftest import DAY
from tests.shipped import shipped_rules

LOADS = (
    "rear-straps-only",
    "under-rated-straps",
    "missing-information",
    "gooseneck-two-articles-in-order",
)


@pytest.fixture(scope="module")
def pages(runs: Runs, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the pages of some loads and the page that leads to them."""
    folder = tmp_path_factory.mktemp("pages")
    for name, text in pages_of(runs()):
        (folder / name).write_text(text, encoding="utf-8")
    return folder


@pytest.mark.parametrize("name", [*LOADS, "index"])
def test_a_page_is_whole_and_accessible(browser: Browser, pages: Path, name: str) -> None:
    opened = Opened(browser, pages / f"{name}.html", PHONE, "light")
    opened.is_whole_and_accessible()
    opened.close()


def test_a_trip_across_borders_is_whole_and_accessible(
    browser: Browser, runs: Runs, tmp_path: Path
) -> None:
    load = through("US-AZ", "US-CA", "US-WA", "CA-BC", "CH")
    file = tmp_path / "across.html"
    file.write_text(load_page(load, runs(loads=[load])), encoding="utf-8")
    opened = Opened(browser, file, PHONE, "light")
    head = opened.page.get_by_text("Not met in California: ").bounding_box()
    assert head is not None
    assert head["y"] < PHONE[1]
    opened.is_whole_and_accessible()
    opened.close()


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
    opened.close()


def test_what_is_wrong_stands_on_the_first_screen_of_a_phone(browser: Browser, pages: Path) -> None:
    opened = Opened(browser, pages / "rear-straps-only.html", PHONE, "light")
    for words in ("HOLD: do not leave", "Hook one tiedown to the frame at each corner"):
        box = opened.page.get_by_text(words).first.bounding_box()
        assert box is not None
        assert box["y"] + box["height"] <= PHONE[1]
    opened.close()


@pytest.mark.parametrize("name", [*LOADS, "machine-10000-lb"])
def test_it_prints_on_two_sheets_for_the_cab(browser: Browser, pages: Path, name: str) -> None:
    opened = Opened(browser, pages / f"{name}.html", DESK, "dark")
    for size in ("Letter", "A4"):
        printed = opened.page.pdf(format=size)
        assert printed.count(b"/Type /Page\n") + printed.count(b"/Type /Page ") == 2
    opened.page.emulate_media(media="print")
    # 8 pt for paper held at arm's length in a cab; a point is 4/3 of a CSS pixel.
    size_px = opened.page.evaluate("parseFloat(getComputedStyle(document.body).fontSize)")
    assert size_px >= 8 * 4 / 3 - 0.01
    assert opened.page.get_by_text("Walk-around").first.is_visible()
    assert opened.page.get_by_text(CAUTIONS[0]).is_visible()
    opened.close()


def test_two_articles_with_a_broken_rule_print_on_two_sheets(
    browser: Browser, runs: Runs, tmp_path: Path
) -> None:
    """Eight tiedowns, two charts and two lists: the fullest page of a trip in one place."""
    profile = read_profile(
        shipped_folder("profiles") / "loads" / "gooseneck-two-articles-in-order.yaml"
    ).replaced({("trip", "load_checks"): ["60 mi"]})
    load = CheckedLoad(check_profile(profile, shipped_rules(), DAY), {}, SI)
    file = tmp_path / "two.html"
    file.write_text(load_page(load, runs(loads=[load], system=SI)), encoding="utf-8")
    opened = Opened(browser, file, DESK, "light")
    for size in ("Letter", "A4"):
        printed = opened.page.pdf(format=size)
        assert printed.count(b"/Type /Page\n") + printed.count(b"/Type /Page ") == 2
    opened.close()


# A phone of today: 390 by 844 CSS pixels.
SCREENS_OF = """(parts) => parts.map((part) => document.querySelector(part))
  .filter((part) => part).map((part) => part.getBoundingClientRect())
  .map((box) => [box.top / innerHeight, box.bottom / innerHeight])"""
BROKEN_WORDS = r"""() => {
  const folded = document.querySelectorAll("details:not([open])");
  // All at once: a text in a folded part is laid out anew each time its place is asked for.
  folded.forEach((part) => { part.open = true; });
  const found = [], texts = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  const range = document.createRange();
  const lines = () => new Set([...range.getClientRects()].map((box) => Math.round(box.top))).size;
  while (texts.nextNode()) {
    const text = texts.currentNode;
    if (text.parentElement.closest("code, svg")) continue;
    range.selectNodeContents(text);
    if (lines() < 2) continue;
    for (const word of text.data.matchAll(/[A-Za-z]{2,}/g)) {
      range.setStart(text, word.index);
      range.setEnd(text, word.index + word[0].length);
      if (lines() > 1) found.push(word[0]);
    }
  }
  folded.forEach((part) => { part.open = false; });
  return found;
}"""
TYPE_ON_PAPER = """() => [...document.querySelectorAll("svg[role=img]")].flatMap((drawing) => {
  const [box, paper] = [drawing.getBoundingClientRect(), drawing.viewBox.baseVal];
  const scale = Math.min(box.width / paper.width, box.height / paper.height);
  return [...drawing.querySelectorAll("text")]
    .map((text) => parseFloat(getComputedStyle(text).fontSize) * scale * 3 / 4);
})"""


def has_a_short_head_and_readable_type(opened: Opened) -> None:
    """What a crew needs is on six screens, the drawing on two, and its type is above 7 pt."""
    ((_, bottom),) = opened.page.evaluate(SCREENS_OF, ["svg[aria-labelledby^=above]"])
    assert bottom <= 2
    details = opened.page.evaluate(SCREENS_OF, ["#tiedowns", "#borders", "#rules"])
    assert min(top for top, _ in details) <= 6
    opened.page.set_viewport_size({"width": 1280, "height": 900})
    assert opened.page.evaluate(BROKEN_WORDS) == []
    opened.page.emulate_media(media="print")
    # The width of a letter sheet, 8.5 in, between margins of 12 mm.
    opened.page.set_viewport_size({"width": 725, "height": 960})
    assert min(opened.page.evaluate(TYPE_ON_PAPER)) >= 7


@pytest.mark.parametrize("name", LOADS)
def test_the_head_of_a_page_is_short_and_its_type_readable(
    browser: Browser, pages: Path, name: str
) -> None:
    opened = Opened(browser, pages / f"{name}.html", (390, 844), "light")
    has_a_short_head_and_readable_type(opened)
    opened.close()


def test_the_head_is_short_through_many_places(
    browser: Browser, runs: Runs, tmp_path: Path
) -> None:
    load = through("US-AZ", "US-CA", "US-WA", "CA-BC", "CH")
    file = tmp_path / "across.html"
    file.write_text(load_page(load, runs(loads=[load])), encoding="utf-8")
    opened = Opened(browser, file, (390, 844), "light")
    has_a_short_head_and_readable_type(opened)
    opened.close()


def test_what_stops_a_load_leads_to_its_rule(browser: Browser, pages: Path) -> None:
    opened = Opened(browser, pages / "rear-straps-only.html", PHONE, "light")
    opened.page.get_by_role("link", name="Not every corner has a tiedown").click()
    box = opened.page.locator("#rule-four-corners-held").bounding_box()
    assert box is not None
    assert 0 <= box["y"] < PHONE[1]
    opened.page.get_by_role("link", name="All load profiles").first.click()
    assert opened.page.get_by_role("heading", level=1).inner_text() == "Load profiles"
    opened.close()


def test_the_index_leads_to_the_pages(browser: Browser, pages: Path) -> None:
    opened = Opened(browser, pages / "index.html", PHONE, "light")
    opened.page.get_by_role("link", name="Crew side-by-side on four light straps").click()
    assert opened.page.get_by_role("heading", level=1).inner_text() == (
        "Crew side-by-side on four light straps"
    )
    opened.close()


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
    opened.close()
