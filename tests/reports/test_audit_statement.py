"""The statement of an audit: what it says, the sample in it, and that it repeats to the byte."""

import hashlib
import html
import re
from dataclasses import replace
from fractions import Fraction
from pathlib import Path
from typing import Any

import lxml.html
import pytest
from typer.testing import CliRunner, Result

from checker.cli.app import application
from checker.cli.named_loads import LoadFinder
from checker.evaluation.tolerances import check_profile
from checker.logs.opening import open_log
from checker.reports.audit_forms.statement import report
from checker.reports.shared.audit_results import AuditRun
from checker.reports.shared.haul_command import HaulCommands
from checker.reports.shared.statement import Signatory, StatementDetails, sampled_haul, sha256_of
from checker.rulebooks.verdicts import Verdict
from checker.season.hauls.hauls import Haul, read_hauls
from checker.season.hauls.loads import Loads
from checker.season.records.sample import draw_sample
from checker.season.records.sampling import SampleRequest
from checker.season.totals import Tally
from checker.units.formatting import Units
from tests.reports.audits import HOSTILE_CREW, with_totals

SIZE = 6


def spoken(page: str) -> str:
    """The text of a page, with a space between its parts."""
    (body,) = lxml.html.fromstring(page).xpath("//body")
    return " ".join(" ".join(body.itertext()).split())


def words_of(element: Any) -> str:
    """The text of an element with single spaces."""
    return " ".join(element.text_content().split())


def loads(season: AuditRun) -> Loads:
    return Loads(LoadFinder(), None, [season.audit.rulebooks])


@pytest.fixture(scope="module")
def signed(season: AuditRun) -> AuditRun:
    """The season with a sample of six hauls and one signatory who is named."""
    log = Path(season.audit.log)
    sample = draw_sample(
        lambda: open_log(log), loads(season), season.audit.totals.loads, SIZE, "4711"
    )
    rulebooks = season.audit.rulebooks
    details = StatementDetails(
        request=SampleRequest(Fraction(95, 100), Fraction(40, 100), "4711"),
        seed="4711",
        hauls=[sampled_haul(haul, rulebooks, Units.US) for haul in sample.hauls],
        first=sample.first,
        last=sample.last,
        sha256=sha256_of(log),
        signed=[Signatory("Ann Field", "safety officer", "2026-11-30"), Signatory("B. <Ox>")],
    )
    commands = HaulCommands("hauls.csv", ["--columns", "my own.yaml"])
    return replace(season, statement=details, commands=commands)


@pytest.fixture(scope="module")
def page(signed: AuditRun) -> str:
    return report(signed)


@pytest.fixture(scope="module")
def said(page: str) -> str:
    return spoken(page)


def test_it_names_what_was_audited_by_which_rules(signed: AuditRun, said: str) -> None:
    audit = signed.audit
    log = Path(audit.log).read_bytes()
    for part in (audit.digest, hashlib.sha256(log).hexdigest(), "14 read: 12 checked, 2 refused"):
        assert part in said
    # The first and the last day of SEASON; the row dated `soon` has none.
    assert "rows dated 2025-11-14 to 2026-03-31" in said
    for each in (*audit.rulebooks.books, *audit.rulebooks.tables):
        assert each.digest in said
    for file, digest in audit.totals.files.items():
        assert Path(file).name in said
        assert digest in said


def test_two_trailers_of_one_title_are_told_apart_in_the_sample(signed: AuditRun) -> None:
    key = signed.statement.hauls[0].trailer
    titles = {"trailer": {key: "Flat", "T-9": "FLAT"}}
    assert f"Flat ({key})" in spoken(report(with_totals(signed, titles=titles)))


def test_it_says_what_was_refused_and_not_looked_at(signed: AuditRun, said: str) -> None:
    for each in signed.audit.refusals:
        assert f"{each.row} {each.reason}" in said
    assert "1 haul: no rulebook read for MX" in said
    assert "1 haul: doubtful figure: weight of an article unusually high" in said
    tally = signed.audit.totals.all
    assert f"on hold {tally.held} " in said
    assert f"open {tally.open} " in said


def test_the_sample_is_drawn_of_all_checked_hauls(signed: AuditRun, page: str) -> None:
    """By hand: the rows that were not refused, by the SHA-256 of `4711 row`."""
    refused = {each.row for each in signed.audit.refusals}
    rows = [row for row in range(2, 16) if row not in refused]
    expected = sorted(rows, key=lambda row: hashlib.sha256(f"4711 {row}".encode()).hexdigest())
    table = lxml.html.fromstring(page).xpath("//table[@class='sample']/tbody/tr")
    drawn = [int(row.xpath("./td[2]//strong")[0].text.removeprefix("row ")) for row in table]
    assert drawn == expected[:SIZE]
    assert f"printf %s '4711 {drawn[0]}' | sha256sum" in page.replace("&#39;", "'")


def test_rows_that_are_refused_are_passed_over(season: AuditRun) -> None:
    log = Path(season.audit.log)
    sample = draw_sample(lambda: open_log(log), loads(season), season.audit.totals.loads, 99, "any")
    refused = {each.row for each in season.audit.refusals}
    assert {each.row for each in sample.hauls} == set(range(2, 16)) - refused
    assert len(sample.hauls) == season.audit.checked
    first = draw_sample(lambda: open_log(log), loads(season), season.audit.totals.loads, 3, "any")
    assert [each.row for each in first.hauls] == [each.row for each in sample.hauls[:3]]


def test_hauls_of_a_load_that_a_worker_refused_are_not_drawn(season: AuditRun) -> None:
    """Read here they are sound, so that only the audit knows."""
    log = Path(season.audit.log)
    refused, *rest = season.audit.totals.loads
    sample = draw_sample(lambda: open_log(log), loads(season), rest, 99, "any")
    drawn = {each.load.file for each in sample.hauls}
    assert sample.hauls
    assert Path(season.audit.totals.loads[refused]).resolve() not in {f.resolve() for f in drawn}


def test_the_evidence_is_that_of_a_check(signed: AuditRun, page: str) -> None:
    rows = [each.row.row for each in signed.statement.hauls]
    log = open_log(Path(signed.audit.log))
    table = lxml.html.fromstring(page).xpath("//table[@class='sample']/tbody/tr")
    words = {row: words_of(cell) for row, cell in zip(rows, table, strict=True)}
    for haul in read_hauls(log, loads(signed), frozenset(rows)):
        assert isinstance(haul, Haul)
        check = check_profile(haul.profile, signed.audit.rulebooks, haul.on)
        broken = [each for each in check.findings if each.verdict is Verdict.NOT_MET]
        found = set(re.findall(r"\b[a-z]+(?:-[a-z]+)+\b", words[haul.row]))
        assert {each.rule.id for each in broken} <= found
        assert all(each.statement in words[haul.row] for each in broken)
        assert f"cinchbook check hauls.csv#{haul.row} --columns 'my own.yaml'" in words[haul.row]
    by_row = {each.row.row: each for each in signed.statement.hauls}
    # 60,000 lb on a trailer for a mower, as a hostile crew has it; seeds that leave it out fail.
    assert {by_row[row].outcome for row in rows} > {"hold"}


def test_figures_of_broken_rules_are_found_and_wanted(season: AuditRun) -> None:
    """Row 2 states 1,950 lb; with 920 lb of trailer at most 351 lb of 2,870 lb on the tongue."""
    log = Path(season.audit.log)
    hauls = read_hauls(open_log(log), loads(season), {4})
    (haul,) = hauls
    assert isinstance(haul, Haul)
    found = sampled_haul(haul, season.audit.rulebooks, Units.US)
    # By hand: centre of gravity at 90 + 57.352 = 147.352 in, behind the axle at 124 in:
    # 105 + 1500 x (124 - 147.352) / 124 = -177.5 lb on the tongue of 2,420 lb.
    (rule,) = (each for each in found.broken if each.rule == "tongue-share-ball")
    assert (found.outcome, rule.found) == ("hold", "tongue weight -177 lb")
    assert rule.wanted.startswith("at least 242 lb = 10 %")


def test_what_is_signed_is_printed_and_the_rest_is_a_line(page: str) -> None:
    blocks = lxml.html.fromstring(page).xpath("//div[@class='signing']")
    lines = [[words_of(line) for line in block.xpath(".//dd")] for block in blocks]
    assert lines == [["Ann Field", "safety officer", "2026-11-30", ""], ["B. <Ox>", "", "", ""]]


def test_what_the_deviations_rule_out_is_told(said: str) -> None:
    """By hand: C(12 - D, 6) / C(12, 6) is 28/924 at D = 4 and 84/924 at D = 3."""
    assert "none at most 3 of the 12 hauls deviate, 25 %: less than the tolerable rate" in said
    # One deviation: (C(6,6) + 6 C(6,5)) / 924 = 37/924 at D = 6; (7 + 5 x 21) / 924 at D = 5.
    assert "1 at most 5 of the 12 hauls deviate, 41.7 %: not less than the tolerable rate" in said
    assert "Tolerable rate 40 % of the hauls" in said
    assert "4711 , chosen by the auditor" in said


def test_nothing_in_it_acts(page: str) -> None:
    assert "<script" not in page
    assert html.escape(HOSTILE_CREW) in page.replace("&#34;", "&quot;").replace("&#39;", "&#x27;")


def test_no_haul_checked_is_no_verdict(season: AuditRun) -> None:
    kinds = {kind: {} for kind in season.audit.totals.by}
    nothing = with_totals(season, all=Tally(), by=kinds, rules={}, faults={}, worst_hauls=[])
    said = spoken(report(nothing))
    assert "No haul was checked: that is no verdict on any." in said
    assert "No haul was drawn." in said


LOG = "load,date,crew\nloads/mower-in-order,2026-05-14,north\nloads/mower-in-order,soon,north\n"


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    (tmp_path / "hauls.csv").write_text(LOG)
    monkeypatch.chdir(tmp_path)
    return tmp_path


def run(*words: str) -> Result:
    asked = ["audit", "hauls.csv", "--rules", "north-america-coupling", *words]
    return CliRunner().invoke(application(), asked)


def test_it_is_written_with_the_same_bytes_again(folder: Path) -> None:
    for name in ("a.html", "b.html"):
        done = run("--write", f"statement={name}", "--signed-by", "Ann Field; ; 2026-11-30")
        assert done.exit_code == 2, "a row is refused"
    first = (folder / "a.html").read_text()
    assert first == (folder / "b.html").read_text()
    said = spoken(first)
    digest = re.search(r"Seed ([0-9a-f]{16}) , the digest of the log", said)
    assert digest
    assert f"Digest of the log {digest[1]}" in said
    assert "cinchbook check hauls.csv#2 --rules north-america-coupling" in said
    run("--write", "statement=c.html", "--sample", "90 %, 10 %, seed 7")
    assert "Seed 7 , chosen by the auditor" in spoken((folder / "c.html").read_text())


@pytest.mark.usefixtures("folder")
@pytest.mark.parametrize(
    ("words", "message"),
    [
        (("--sample", "95 %, 5 %"), "found --sample without a statement; wanted --write statement"),
        (("--signed-by", "A"), "found --signed-by without a statement; wanted --write statement="),
        (("--write", "statement=a.html", "--sample", "95"), "found the sample '95'; wanted the"),
        (
            ("--write", "statement=a.html", "--signed-by", "; b"),
            "found '; b' to sign; wanted",
        ),
        (("--write", "statement=a.html", "--signed-by", "A; b; may"), "found 'may'; wanted a day"),
        (
            ("--write", "statement=a.html", "--signed-by", "a;b;;c"),
            "found 'a;b;;c' to sign",
        ),
    ],
)
def test_what_cannot_be_stated_is_told(words: tuple[str, ...], message: str) -> None:
    done = run(*words)
    assert done.exit_code == 2
    assert message in done.stderr
    assert not Path("a.html").exists()
