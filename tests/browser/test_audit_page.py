"""The page of an audit in a real browser: read, sorted, narrowed, printed, and without script."""

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from msgspec import structs
from playwright.sync_api import Browser, Page, expect

from checker.evaluation.outcome import Outcome
from checker.reports.audit_forms.html import pages, report
from checker.reports.shared.audit_results import AuditRun
from checker.reports.shared.season_causes import season_causes
from checker.reports.shared.words import CAUTIONS
from checker.season.totals import WorstHaul
from tests.browser.opened import DESK, PHONE, Opened
from tests.reports.audits import HOSTILE_CREW


@pytest.fixture(scope="module")
def file(season: AuditRun, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The page in a file."""
    page = tmp_path_factory.mktemp("audit") / "season.html"
    page.write_text(report(season), encoding="utf-8")
    return page


@pytest.fixture
def page(browser: Browser, file: Path) -> Iterator[Page]:
    """The page on a desk."""
    opened = Opened(browser, file, DESK, "light")
    yield opened.page
    assert opened.said == []
    opened.close()


def shown(page: Page) -> list[int]:
    """The row numbers that the table shows, from above."""
    rows = page.locator("#hauls tbody tr:visible")
    return [int(each) for each in rows.locator("td:first-child").all_inner_texts()]


def test_the_page_is_whole_and_accessible(browser: Browser, file: Path) -> None:
    opened = Opened(browser, file, PHONE, "light")
    opened.is_whole_and_accessible()
    opened.close()


def listed(season: AuditRun) -> list[WorstHaul]:
    audit = season.audit
    return season_causes(audit).worst_first(audit.totals.worst_hauls)


def test_columns_sort_both_ways_and_say_so(page: Page, season: AuditRun) -> None:
    remembered = listed(season)
    assert shown(page) == [each.row for each in remembered]
    heading = page.locator("#hauls th", has_text="row")
    assert heading.get_attribute("aria-sort") is None
    heading.get_by_role("button").click()
    assert heading.get_attribute("aria-sort") == "ascending"
    assert shown(page) == sorted(each.row for each in remembered)
    heading.get_by_role("button").press("Enter")
    assert heading.get_attribute("aria-sort") == "descending"
    assert shown(page) == sorted((each.row for each in remembered), reverse=True)
    limit = page.locator("#hauls th", has_text="from its limit")
    limit.get_by_role("button").click()
    assert heading.get_attribute("aria-sort") is None
    margins = {
        each.row: None if each.outcome == Outcome.OPEN else each.margin for each in remembered
    }
    figures = [margins[row] for row in shown(page) if margins[row] is not None]
    # Numbers, not words: 9 % outside stands before 12 % inside; what has none stands last.
    assert figures == sorted(figures)
    assert [margins[row] for row in shown(page)][: len(figures)] == figures
    page.get_by_role("button", name="Show all").click()
    assert shown(page) == [each.row for each in remembered]
    assert limit.get_attribute("aria-sort") is None


def test_the_hauls_can_be_narrowed_down(page: Page, season: AuditRun) -> None:
    remembered = listed(season)
    said, form = page.locator("#shown"), page.locator("#choose")
    form.get_by_label("Outcome").select_option("on hold")
    held = [each.row for each in remembered if each.outcome == Outcome.HOLD]
    assert shown(page) == held
    assert said.inner_text() == f"{len(held)} of {len(remembered)} listed hauls"
    form.get_by_label("Crew").select_option(HOSTILE_CREW)
    assert shown(page) == [each.row for each in remembered if each.crew == HOSTILE_CREW]
    page.get_by_role("button", name="Show all").click()
    assert shown(page) == [each.row for each in remembered]
    form.get_by_label("Rule not in order").select_option("chains-crossed")
    assert shown(page) == [
        each.row for each in remembered if "chains-crossed" in (*each.broken, *each.undecided)
    ]
    page.get_by_role("button", name="Show all").click()
    form.get_by_label("Text").fill("SCALE-tol")
    assert shown(page) == [each.row for each in remembered if "scale-tol" in each.load]
    form.get_by_label("Text").fill("no such haul")
    assert shown(page) == []
    assert said.inner_text() == f"0 of {len(remembered)} listed hauls"


def test_a_row_leads_to_its_working(page: Page) -> None:
    haul = page.locator("#haul-4")
    assert not haul.get_by_text("Stated in this row").is_visible()
    page.locator("#hauls").get_by_role("link", name="4", exact=True).click()
    assert haul.get_by_text("Stated in this row").is_visible()
    finding = page.locator("#haul-4-chains-crossed")
    finding.locator("summary").click()
    assert finding.get_by_text("chains crossed: no; wanted yes").first.is_visible()
    assert finding.get_by_text("Rule:").is_visible()


def test_a_link_from_outside_opens_the_working(browser: Browser, file: Path) -> None:
    opened = Opened(browser, file, PHONE, "light")
    opened.page.goto("about:blank")
    opened.page.goto(f"{file.as_uri()}#haul-4")
    assert opened.page.locator("#haul-4").get_by_text("Stated in this row").is_visible()
    opened.close()


def test_without_script_it_is_a_plain_table(browser: Browser, file: Path, season: AuditRun) -> None:
    opened = Opened(browser, file, DESK, "light", java_script_enabled=False)
    assert shown(opened.page) == [each.row for each in listed(season)]
    assert not opened.page.locator("#choose").is_visible()
    assert opened.page.get_by_role("button").count() == 0
    opened.page.locator("#haul-4 > summary").click()
    assert opened.page.locator("#haul-4").get_by_text("Stated in this row").is_visible()
    opened.close()


def test_counts_stand_on_the_first_screen_of_a_phone(browser: Browser, file: Path) -> None:
    opened = Opened(browser, file, PHONE, "light")
    for each in opened.page.locator(".outcome, .counts dd").all():
        box = each.bounding_box()
        assert box is not None
        assert box["y"] + box["height"] <= PHONE[1]
    opened.close()


def test_paper_has_the_table_and_not_what_works_on_a_screen_only(page: Page) -> None:
    page.emulate_media(media="print")
    assert page.locator("#hauls").is_visible()
    assert not page.locator("#choose").is_visible()
    assert not page.locator("#working").is_visible()
    assert page.get_by_text(CAUTIONS[0]).is_visible()


UNCLEARED = (Outcome.HOLD, Outcome.OPEN)


@pytest.fixture
def beside(season: AuditRun, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The page with its list of hauls on hold in files beside it, two hauls in each."""
    monkeypatch.setattr("checker.reports.audit_forms.html.MOST_IN_PAGE", 1000)
    monkeypatch.setattr("checker.reports.shared.html.haul_list_pages._ROWS_OF_A_FILE", 2)
    text, files = pages(season, "a season-hauls")
    (tmp_path / "a season-hauls").mkdir()
    for name, content in files.items():
        (tmp_path / "a season-hauls" / name).write_text(content)
    (tmp_path / "season.html").write_text(text)
    return tmp_path / "season.html"


def test_the_list_of_holds_reads_its_files_and_can_be_sorted_and_narrowed(
    browser: Browser, beside: Path, season: AuditRun
) -> None:
    opened = Opened(browser, beside, DESK, "light")
    page = opened.page
    held = [each for each in season.audit.totals.worst_hauls if each.outcome in UNCLEARED]
    expect(page.locator("#held-hauls tbody tr")).to_have_count(len(held))
    rows = page.locator("#held-hauls tbody tr td:first-child")
    assert [int(each) for each in rows.all_inner_texts()] == [each.row for each in held]
    assert len(opened.asked) == 1 + -(-len(held) // 2)
    said, form = page.locator("#held-shown"), page.locator("#choose-held")
    assert said.inner_text() == f"{len(held)} of {len(held)} hauls on hold or open"
    heading = page.locator("#held-hauls th", has_text="row")
    heading.get_by_role("button").click()
    assert heading.get_attribute("aria-sort") == "ascending"
    in_order = sorted(each.row for each in held)
    assert [int(each) for each in rows.all_inner_texts()] == in_order
    form.get_by_label("Crew").select_option(label=HOSTILE_CREW)
    mine = [each.row for each in held if each.crew == HOSTILE_CREW]
    expect(said).to_have_text(f"{len(mine)} of {len(held)} hauls on hold or open")
    assert [int(each) for each in rows.all_inner_texts()] == mine
    form.get_by_role("button", name="Clear").click()
    form.get_by_label("Outcome").select_option(label="open")
    opened_rows = [each.row for each in held if each.outcome == Outcome.OPEN]
    expect(said).to_have_text(f"{len(opened_rows)} of {len(held)} hauls on hold or open")
    assert [int(each) for each in rows.all_inner_texts()] == opened_rows
    form.get_by_role("button", name="Clear").click()
    expect(rows).to_have_count(len(held))
    assert opened.said == []
    (beside.parent / "a season-hauls" / "0002.js").unlink()
    page.reload()
    expect(said).to_contain_text("found no list of this page in a season-hauls/0002.js")
    opened.close()


def test_the_list_of_holds_goes_on_page_by_page(
    browser: Browser, season: AuditRun, tmp_path: Path
) -> None:
    """Forty times the hauls on hold: more than the hundred that are shown at once."""
    assert season.held is not None
    records = np.concatenate([season.held.records] * 40)
    records["row"] = np.arange(len(records)) + 1
    many = replace(season, held=structs.replace(season.held, records=records))
    file = tmp_path / "season.html"
    file.write_text(report(many), encoding="utf-8")
    opened = Opened(browser, file, PHONE, "dark")
    # Nothing of a haul is out of sight to the side.
    for table in ("#hauls", "#held-hauls"):
        inside = "each => [each.scrollWidth, each.clientWidth]"
        width, seen = opened.page.locator(f".scroll:has({table})").evaluate(inside)
        assert width <= seen
    pager = opened.page.locator("#held-pages")
    rows = opened.page.locator("#held-hauls tbody tr")
    assert rows.count() == 100
    assert not pager.get_by_role("button", name="Earlier").is_enabled()
    number = len(records)
    for first in range(101, number, 100):
        pager.get_by_role("button", name="Later").click()
        last = min(first + 99, number)
        expect(pager).to_contain_text(f"{first} to {last} of {number}")
        assert rows.count() == last - first + 1
    assert not pager.get_by_role("button", name="Later").is_enabled()
    assert opened.said == []
    opened.close()
