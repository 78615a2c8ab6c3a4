"""The page of an audit, read back with code that is not ours, against its counts."""

import re
from typing import Any

import pytest
from lxml import html as lxml_html

from checker.evaluation.outcome import Outcome
from checker.reports.audit_forms.html import report
from checker.reports.shared.audit_results import AuditRun
from checker.reports.shared.words import CAUTIONS
from checker.rulebooks.verdicts import Verdict
from tests.reports.audits import HOSTILE_CREW, text


@pytest.fixture(scope="module")
def page(season: AuditRun) -> Any:
    return lxml_html.fromstring(report(season))


def test_the_page_tells_the_headline_counts(page: Any, season: AuditRun) -> None:
    tally = season.audit.totals.all
    reported = {
        text(each.find("dt")): int(text(each.find("dd")))
        for each in page.xpath("//dl[@class='counts']/div")
    }
    rest = tally.hauls - tally.held - tally.open - tally.near
    assert reported == {
        "on hold": tally.held,
        "open": tally.open,
        "near a limit": tally.near,
        "none of these": rest,
    }
    assert f"{tally.held} of 12 hauls on hold" in text(
        page.xpath("//p[contains(@class,'hold')]")[0]
    )
    assert "14 rows read: 12 checked, 2 refused" in text(page.find(".//header"))


def test_the_page_tells_every_tally_with_its_bar(page: Any, season: AuditRun) -> None:
    by = season.audit.totals.by
    kinds = {"Hauls by month": "month", "By trailer": "trailer", "By machine": "machine"}
    kinds |= {"By tow vehicle": "tow vehicle", "By crew": "crew"}
    for heading, kind in kinds.items():
        (found,) = page.xpath(f"//div[@aria-label='{heading}']")
        # Below the name stand its bar and its rate.
        rows = {row.find("th").text.strip(): row for row in found.xpath(".//tbody/tr")}
        for name, tally in by[kind].items():
            title = season.audit.totals.titles.get(kind, {}).get(name, name)
            row = rows.pop(title or "not named", None)
            assert row is not None, name
            hauls, held, undecided, near = (text(cell) for cell in row.findall("td"))
            assert (hauls, undecided, near) == tuple(
                map(str, (tally.hauls, tally.open, tally.near))
            )
            assert held.startswith(f"{tally.held} (")
            widths = {
                each.get("class"): float(each.get("width").rstrip("%"))
                for each in row.xpath(".//*[local-name()='rect'][@x]")
            }
            assert widths.get("p-hold", 0) == pytest.approx(
                100 * tally.held / tally.hauls, abs=0.01
            )
            assert sum(widths.values()) == pytest.approx(100, abs=0.03)
        # What is left are the months in which nothing was hauled.
        assert set(rows) == ({"2025-12", "2026-01"} if kind == "month" else set())


def test_the_page_tells_every_rule_that_was_not_met_with_where(page: Any, season: AuditRun) -> None:
    broken = {name: each for name, each in season.audit.totals.rules.items() if each.broken}
    assert broken
    found = page.xpath("//details[starts-with(@id,'rule-')]")
    assert {each.get("id") for each in found} == {f"rule-{name}" for name in broken}
    for each in found:
        tally = broken[each.get("id").removeprefix("rule-")]
        said = text(each.find("summary"))
        assert said.startswith(f"{tally.broken} haul")
        for kind in ("trailer", "machine", "crew"):
            most = max(tally.broken_by[kind].values())
            assert re.search(rf"{kind} [^;]*\({most}\)", said), said


def test_the_table_of_hauls_is_that_of_the_audit(page: Any, season: AuditRun) -> None:
    rows = page.xpath("//table[@id='hauls']/tbody/tr")
    remembered = season.audit.totals.worst_hauls
    assert [int(text(row[0])) for row in rows] == [each.row for each in remembered]
    assert [row[1].text for row in rows] == [each.day for each in remembered]
    outcomes = {"on hold": Outcome.HOLD, "open": Outcome.OPEN}
    assert [outcomes.get(row.get("data-outcome"), Outcome.NO_RULE_BROKEN) for row in rows] == [
        each.outcome for each in remembered
    ]
    for row, each in zip(rows, remembered, strict=True):
        assert set(row.get("data-rules").split()) == {
            *each.broken,
            *each.should_broken,
            *each.undecided,
        }
        key = season.workings[each.row].labels.trailer
        assert text(row[4]) == season.audit.totals.titles["trailer"][key]
    choices = page.xpath("//select[@name='crew']/option/@value")
    assert set(choices) == {""} | {text(row[5]) for row in rows}


def test_each_haul_is_worked_out_rule_by_rule(page: Any, season: AuditRun) -> None:
    for each in season.audit.totals.worst_hauls:
        (haul,) = page.xpath(f"//details[@id='haul-{each.row}']")
        start = f"haul-{each.row}-"
        entries = haul.xpath(f".//details[starts-with(@id, '{start}')]")
        reported = {one.get("id").removeprefix(start) for one in entries}
        musts = {
            rule.id
            for book in season.audit.rulebooks.books
            for rule in book.rules
            if rule.level == "must"
        }
        wanted = {*each.broken, *each.excused, *each.undecided, *each.near} & musts
        assert reported == wanted
    # By hand: 1,500 lb on the log's fourth line, with the ball and the axle where they are.
    (haul,) = page.xpath("//details[@id='haul-4']")
    assert "articles.1.weight 1500 lb" in text(haul)
    assert re.search(r"articles\.1\.weight: 1500 lb \(\S*hauls\.csv:4\)", text(haul))
    assert "articles.1.placed.x 90 in" in text(haul)


def test_what_the_page_works_out_is_what_the_audit_counted(season: AuditRun) -> None:
    for each in season.audit.totals.worst_hauls:
        check = season.workings[each.row].check
        assert check is not None
        assert check.outcome == each.outcome
        broken = {
            finding.rule.id
            for finding in check.findings
            if finding.verdict is Verdict.NOT_MET and finding.rule.level == "must"
        }
        assert broken == {*each.broken} | ({*each.excused} & broken)


def test_links_lead_somewhere_and_nothing_is_fetched(page: Any, season: AuditRun) -> None:
    ids = page.xpath("//@id")
    assert len(ids) == len(set(ids))
    links = set(page.xpath("//@href"))
    assert links
    assert {link.removeprefix("#") for link in links} <= set(ids)
    assert page.xpath("//@src|//link|//img|//iframe|//object") == []
    addresses = set(re.findall(r"https?://[^\"' )]+", report(season)))
    assert addresses <= {"http://www.w3.org/2000/svg"}
    labelled = set(page.xpath("//@aria-labelledby"))
    assert labelled <= set(ids)


def test_no_name_in_a_log_becomes_markup(page: Any, season: AuditRun) -> None:
    (script,) = page.xpath("//script")
    assert "alert(1)" not in script.text
    assert HOSTILE_CREW in page.xpath("//select[@name='crew']/option/@value")
    assert report(season).count("<script") == 1


def test_the_page_says_by_what_it_was_judged_and_what_was_not(page: Any, season: AuditRun) -> None:
    audit = season.audit
    rests = text(page.xpath("//section[@aria-labelledby='basis']")[0])
    assert audit.rulebooks.tables
    for each in (*audit.rulebooks.books, *audit.rulebooks.tables):
        assert f"{each.id} {each.digest}" in rests
    assert audit.digest in rests
    assert "5 %" in rests
    for caution in CAUTIONS:
        assert caution in text(page.find(".//footer"))
    refused = text(page.xpath("//section[@aria-labelledby='refused']")[0])
    assert "2 rows were not checked" in refused
    assert "row 13: found no load profile 'loads/nowhere'" in refused
    wanting = text(page.xpath("//section[@aria-labelledby='undecided']")[0])
    for field in audit.totals.missing_fields:
        assert field in wanting


def test_the_same_audit_gives_the_same_page(season: AuditRun) -> None:
    assert report(season) == report(season)
