"""The page of an audit in a real browser: read, sorted, narrowed, printed, and without script."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page

from checker.evaluation.outcome import Outcome
from checker.reports.audit_forms.html import report
from checker.reports.shared.audit_results import AuditRun
from checker.reports.shared.words import CAUTIONS
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
    opened.context.close()


def shown(page: Page) -> list[int]:
    """The row numbers that the table shows, from above."""
    rows = page.locator("#hauls tbody tr:visible")
    return [int(each) for each in rows.locator("td:first-child").all_inner_texts()]


def test_the_page_is_whole_and_accessible(browser: Browser, file: Path) -> None:
    opened = Opened(browser, file, PHONE, "light")
    opened.is_whole_and_accessible()
    opened.context.close()


def test_columns_sort_both_ways_and_say_so(page: Page, season: AuditRun) -> None:
    remembered = season.audit.totals.worst_hauls
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
    remembered = season.audit.totals.worst_hauls
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
    opened.context.close()


def test_without_script_it_is_a_plain_table(browser: Browser, file: Path, season: AuditRun) -> None:
    opened = Opened(browser, file, DESK, "light", java_script_enabled=False)
    assert shown(opened.page) == [each.row for each in season.audit.totals.worst_hauls]
    assert not opened.page.locator("#choose").is_visible()
    assert opened.page.get_by_role("button").count() == 0
    opened.page.locator("#haul-4 > summary").click()
    assert opened.page.locator("#haul-4").get_by_text("Stated in this row").is_visible()
    opened.context.close()


def test_counts_stand_on_the_first_screen_of_a_phone(browser: Browser, file: Path) -> None:
    opened = Opened(browser, file, PHONE, "light")
    for each in opened.page.locator(".outcome, .counts dd").all():
        box = each.bounding_box()
        assert box is not None
        assert box["y"] + box["height"] <= PHONE[1]
    opened.context.close()


def test_paper_has_the_table_and_not_what_works_on_a_screen_only(page: Page) -> None:
    page.emulate_media(media="print")
    assert page.locator("#hauls").is_visible()
    assert not page.locator("#choose").is_visible()
    assert not page.locator("#working").is_visible()
    assert page.get_by_text(CAUTIONS[0]).is_visible()
