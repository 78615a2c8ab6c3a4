"""The statement of an audit in a real browser: on a phone, and printed."""

from pathlib import Path

from playwright.sync_api import Browser

from checker.reports.audit_forms.statement import report
from checker.reports.shared.audit_results import AuditRun
from tests.browser.opened import PHONE, Opened
from tests.reports.test_audit_statement import signed

__all__ = ["signed"]
A4 = (794, 1123)
"""Pixels of 1/96 in on 210 x 297 mm."""


def test_it_is_whole_on_a_phone_and_on_paper(
    browser: Browser, signed: AuditRun, tmp_path: Path
) -> None:
    file = tmp_path / "statement.html"
    file.write_text(report(signed), encoding="utf-8")
    opened = Opened(browser, file, PHONE, "light")
    opened.is_whole_and_accessible()
    opened.page.emulate_media(media="print")
    opened.page.set_viewport_size({"width": A4[0], "height": A4[1]})
    assert opened.page.evaluate("document.documentElement.scrollWidth") <= A4[0]
    # A box to sign in, and a row of the sample, is never cut by the end of a page.
    for part in (".signing", ".sample tbody tr"):
        shown = opened.page.locator(part).first
        assert shown.evaluate("each => getComputedStyle(each).breakInside") == "avoid"
    opened.close()
