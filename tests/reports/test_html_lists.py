"""The lists at the head of the page, the index with its totals, and pages that are out of date."""

import re
from datetime import date
from functools import cache

import pytest
from lxml import html as lxml_html
from typer.testing import CliRunner

from checker.cli.app import application
from checker.documents.resources import shipped_folder
from checker.evaluation.outcome import Outcome
from checker.evaluation.strictness import FailOn
from checker.evaluation.tolerances import check_profile
from checker.load.build import read_profile
from checker.reports.check_forms.html import folder, index, load_page, page_names
from checker.reports.check_forms.html.figures import bars, most_loaded
from checker.reports.check_forms.html.outdated import outdated_page
from checker.reports.shared.check_results import CheckedLoad, CheckRun
from checker.reports.shared.html.entries import listed_findings
from checker.reports.shared.outcome_words import findings_of_verdict
from checker.rulebooks.verdicts import Verdict
from checker.units.formatting import US
from tests.shipped import shipped_rules

BROKEN, OPEN, IN_ORDER = "rear-straps-only", "missing-information", "side-by-side-in-order"


@cache
def load(name: str) -> CheckedLoad:
    profile = read_profile(shipped_folder("profiles") / "loads" / f"{name}.yaml")
    return CheckedLoad(check_profile(profile, shipped_rules(), date(2026, 6, 1)), {}, US)


def run_of(*names: str, fail_on: FailOn = FailOn.MUST) -> CheckRun:
    return CheckRun([load(name) for name in names], [], fail_on, 0.05, "0.0")


def words(node: lxml_html.HtmlElement) -> str:
    return " ".join(node.text_content().split())


@pytest.mark.parametrize("fail_on", FailOn)
@pytest.mark.parametrize("name", [BROKEN, OPEN, IN_ORDER])
def test_every_link_of_a_page_has_its_end(name: str, fail_on: FailOn) -> None:
    run = run_of(name, fail_on=fail_on)
    page = lxml_html.fromstring(load_page(run.checked[0], run))
    ids = set(page.xpath("//@id"))
    links = page.xpath("//a/@href")
    assert all(each.startswith("#") and each[1:] in ids for each in links)
    stops = page.xpath("//section[@aria-labelledby='stopped']//li")
    to_rules = [each for each in links if each.startswith("#rule-")]
    assert bool(to_rules) == bool(stops or page.xpath("//*[@id='shoulds']"))


@pytest.mark.parametrize("name", [BROKEN, OPEN, IN_ORDER])
def test_every_stated_figure_stands_once_and_facts_of_many_refer_to_the_list(name: str) -> None:
    run = run_of(name)
    checked = run.checked[0]
    page = lxml_html.fromstring(load_page(checked, run))
    behind = [
        [used.origins for used in finding.facts] for finding in listed_findings(checked.check)
    ]
    stated = {
        f"{field}: {origin.text} ({origin})"
        for facts in behind
        for origins in facts
        for field, origin in origins.items()
    }
    listed = [words(each) for each in page.xpath("//details[@id='stated']//li")]
    assert sorted(listed) == sorted(map(str.strip, stated))
    for finding, facts in zip(listed_findings(checked.check), behind, strict=True):
        entry = page.get_element_by_id(f"rule-{finding.rule.id}")
        numbers = [f"{len(origins)} stated figures" for origins in facts if len(origins) > 2]
        assert [words(each) for each in entry.xpath(".//a")] == numbers
        for origins in facts:
            for field, origin in origins.items():
                alone = f"{field}: {origin.text} ({origin})" in words(entry)
                assert alone or len(origins) > 2


def test_pages_of_a_folder_lead_to_the_index_and_back() -> None:
    pages = dict(folder(run_of(BROKEN, OPEN)))
    ids = {name: set(lxml_html.fromstring(text).xpath("//@id")) for name, text in pages.items()}
    for name, text in pages.items():
        for link in lxml_html.fromstring(text).xpath("//a/@href"):
            to, _, part = link.partition("#")
            assert not part or part in ids[to or name]
            assert (to or name) in pages
        assert name == "index.html" or 'href="index.html"' in text
    # A single page has no index beside it.
    assert "index.html" not in load_page(load(BROKEN), run_of(BROKEN))


@pytest.mark.parametrize("name", [BROKEN, IN_ORDER, "pallet-of-attachments"])
def test_every_rule_not_met_is_on_paper(name: str) -> None:
    page = lxml_html.fromstring(load_page(load(name), run_of(name)))
    for part in page.xpath("//details|//*[contains(concat(' ', @class, ' '), ' screen ')]"):
        part.drop_tree()
    printed = words(page)
    for level in ("must", "should"):
        for finding in findings_of_verdict(load(name).check, Verdict.NOT_MET, level):
            assert finding.statement in printed


def test_weights_over_their_rating_are_all_shown_and_long_bars_say_where_they_end() -> None:
    profile = read_profile(shipped_folder("profiles") / "loads" / f"{IN_ORDER}.yaml")
    heavy = profile.replaced({("articles", 0, "weight"): "9000 lb"})
    checked = CheckedLoad(check_profile(heavy, shipped_rules(), date(2026, 6, 1)), {}, US)
    found = bars(checked.check, US, 0.05)
    over = [bar for bar in found if bar.state == "over"]
    assert len(over) > 4
    assert most_loaded(found) == len(over)
    assert most_loaded(bars(load(IN_ORDER).check, US, 0.05)) == 4
    # A bar has room for a quarter more than the rating.
    for bar in found:
        assert bar.ends == ("125 %" if float(bar.share.split()[0]) > 125 else "")
    page = lxml_html.fromstring(load_page(checked, run_of(IN_ORDER)))
    shown = words(page.xpath("//section[@aria-labelledby='weights']")[0])
    assert shown.count("; the bar ends at 125 %") == sum(bool(bar.ends) for bar in found)


def test_an_open_page_begins_with_questions_in_words() -> None:
    page = lxml_html.fromstring(load_page(load(OPEN), run_of(OPEN)))
    (first, *_) = page.xpath("//main//h2")
    assert words(first) == "Find out first"
    asked = [words(each) for each in page.xpath("//section[@aria-labelledby='next']//li")]
    assert any(
        each.startswith("Trip: It goes on a public road: yes or no? (decides ") for each in asked
    )
    # Names of fields are for whoever edits the profile: not in the question, and not on paper.
    for part in page.xpath("//section[@class='first']//*[contains(@class, 'screen')]"):
        part.drop_tree()
    for section in page.xpath("//section[@class='first']"):
        assert not re.search(r"[a-z]_[a-z]|[a-z]\.[a-z0-9]", words(section))


def test_the_index_has_totals_and_says_what_to_find_out() -> None:
    run = run_of(BROKEN, OPEN, IN_ORDER, "too-far-back")
    outcomes = [each.check.outcome for each in run.checked]
    held, opened = outcomes.count(Outcome.HOLD), outcomes.count(Outcome.OPEN)
    page = lxml_html.fromstring(index(run, page_names(run)))
    assert (held, opened) == (2, 1)
    assert words(page.xpath("//header/p")[0]) == (
        "4 load profiles: 2 HOLD; 1 OPEN; 1 no rule broken"
    )
    (card,) = page.xpath("//article[contains(@class, 'open')]")
    assert "Find out: Trip: It goes on a public road: yes or no?" in words(card)


def test_a_page_of_an_earlier_check_is_marked_once() -> None:
    (name, text), _ = folder(run_of(IN_ORDER))
    again = dict(folder(run_of(BROKEN), [(name, text), ("own.html", "<html><body></body></html>")]))
    assert sorted(again) == ["index.html", f"{BROKEN}.html", f"{IN_ORDER}.html"]
    marked = lxml_html.fromstring(again[name])
    assert marked.findtext(".//title").startswith("OUT OF DATE - ")
    assert words(marked.find("body")).startswith("OUT OF DATE: the last check written into this")
    assert outdated_page(again[name], "index.html") == again[name]
    assert name in words(lxml_html.fromstring(again["index.html"]))
    # Checked again, it is a page like any other.
    assert dict(folder(run_of(IN_ORDER), [(name, again[name])]))[name] == text


def test_a_folder_keeps_no_unmarked_page_of_a_load_not_checked(
    tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch
) -> None:
    place = tmp_path_factory.mktemp("place")
    monkeypatch.chdir(place)
    (place / "pages").mkdir()
    (place / "pages" / "notes.html").write_text("<body>ours</body>")
    for name in ("one", "two"):
        (place / f"{name}.yaml").write_text(f"kind: load\ntitle: {name}\ntrailer: {{}}\n")
    check = ["check", "--write", "html=pages/"]
    CliRunner().invoke(application(), [*check, "one.yaml", "two.yaml"])
    assert "OUT OF DATE" not in (place / "pages" / "two.html").read_text()
    # The second load cannot be read any more.
    (place / "two.yaml").write_text("kind: load\ntitle: [\n")
    CliRunner().invoke(application(), [*check, "one.yaml", "two.yaml"])
    assert "OUT OF DATE" not in (place / "pages" / "one.html").read_text()
    assert "OUT OF DATE" in (place / "pages" / "two.html").read_text()
    assert (place / "pages" / "notes.html").read_text() == "<body>ours</body>"
