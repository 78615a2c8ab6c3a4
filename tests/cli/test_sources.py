"""`cinchbook sources` as an officer calls it; days and figures are those of the files below."""

import json
import shutil
from pathlib import Path

import pytest
from jsonschema import Draft202012Validator

from checker.documents.resources import shipped_folder
from tests.calling import call
from tests.written_documents import closed_schema

SOURCES = """
kind: sources
sources:
  - {id: print, title: The Print, issuer: a test, edition: first, jurisdiction: any,
     read_as: text seen, read_on: 2025-06-01, look_again: 2026-06-01}
  - {id: recalled, title: Recalled, issuer: a test, edition: old, jurisdiction: any,
     read_as: from memory, look_again: 2030-01-01}
"""
BOOK = """
kind: rulebook
id: book
title: A book
jurisdiction: any
proved_on: 2026-01-01
rules:
  - id: weight
    title: Not too heavy
    question: limits
    requires: trailer.gvwr <= most
    thresholds:
      most:
        stricter: lower
        values:
          - {value: 7000 lb, from: 2015-10-01, until: 2027-01-01, source: print, at: p. 1}
          - {value: 6500 lb, from: 2027-01-01, source: print, at: p. 2}
    source: print
    at: p. 1
    basis: law
    level: must
    because: It is so.
    fix: Mend it.
    proofs:
      - {name: at, given: {trailer.gvwr: 7000 lb}, expect: met, origin: hand}
"""
LOAD = """
kind: load
title: A load
trailer: {title: A trailer, gvwr: 6500 lb}
articles: []
"""
READ = ("--read-on", "2026-08-01", "--by", "Ann")
NEW = ("--edition", "second", "--from", "2026-09-01")


@pytest.fixture
def place(tmp_path: Path) -> Path:
    """A project with rules, two documents, and a folder of amendments that is empty yet."""
    (tmp_path / "rules").mkdir()
    (tmp_path / "amendments").mkdir()
    (tmp_path / "rules" / "sources.yaml").write_text(SOURCES)
    (tmp_path / "rules" / "book.yaml").write_text(BOOK)
    (tmp_path / "load.yaml").write_text(LOAD)
    (tmp_path / "cinchbook.yaml").write_text(
        "kind: settings\nrules: [rules]\namendments: [amendments]\n"
    )
    return tmp_path


def printed(place: Path, *words: str, code: int = 0) -> str:
    done = call(place, *words, COLUMNS="200")
    assert done.returncode == code, done.stdout + done.stderr
    return done.stdout if code == 0 else done.stdout + done.stderr


def noted(place: Path, *words: str, code: int = 0) -> str:
    """The words about a reading of `print` that is noted, or refused."""
    return printed(place, "sources", "print", *words, code=code)


def test_a_document_is_listed_with_all_that_rests_on_it(place: Path) -> None:
    shown = printed(place, "sources", "print", "--on", "2026-06-02")
    assert "Edition on 2026-06-02: first" in shown
    assert "Read: text seen on 2025-06-01; look again 2026-06-01, which is past" in shown
    assert "WHAT RESTS ON IT - 1 rule, 2 thresholds" in shown
    assert "- rule weight: Not too heavy; p. 1 (rules/book.yaml:8)" in shown
    assert "- threshold weight: most 7000 lb from 2015-10-01 until 2027-01-01; p. 1" in shown


def test_all_documents_are_listed_the_overdue_ones_first(place: Path) -> None:
    shown = printed(place, "sources", "--on", "2026-06-02").splitlines()
    first = shown.index("LOOK AGAIN NOW - past their day on 2026-06-02")
    assert shown[first + 1] == "- print: The Print, first"
    assert "1 rule, 2 thresholds" in shown[first + 2]
    others = shown.index("OTHER DOCUMENTS")
    assert shown.index("- recalled: Recalled, old") > others > first
    # On the day itself it is not late yet.
    on_the_day = printed(place, "sources", "--on", "2026-06-01")
    assert "- print: The Print, first" in on_the_day.partition("OTHER DOCUMENTS")[2]


def test_the_json_fits_its_schema(place: Path) -> None:
    noted(place, *READ, *NEW)
    document = json.loads(printed(place, "sources", "--as", "json", "--on", "2026-09-01"))
    Draft202012Validator(closed_schema("documents")).validate(document)
    (found,) = (each for each in document["documents"] if each["id"] == "print")
    assert (found["edition"], found["from"], found["read_by"]) == ("second", "2026-09-01", "Ann")
    assert [each["was"] for each in found["readings"]] == ["first"]
    assert {each["kind"] for each in found["rests_on_it"]} == {"rule", "threshold"}


def test_a_document_read_again_unchanged_clears_the_strict_check(place: Path) -> None:
    strict = ("rulebooks", "--strict", "--on", "2026-08-02")
    late = "the source 'print', to be reviewed by 2026-06-01"
    assert late in printed(place, *strict, code=1)
    diff = noted(place, *READ)
    assert "+  - source: print" in diff
    assert "+    was: first" in diff
    assert "+    look_again: 2027-08-01" in diff  # 365 days after the reading
    shown = call(place, *strict).stdout
    assert late not in shown
    # A reading of a later day has not happened on the day asked for.
    assert late in call(place, "rulebooks", "--strict", "--on", "2026-07-31").stdout
    bundled = (place / "rules" / "sources.yaml").read_text()
    assert bundled == SOURCES


def test_a_new_edition_is_in_history_and_findings_from_its_day(place: Path) -> None:
    noted(place, *READ, *NEW)
    history = printed(place, "history", "weight", "--on", "2026-09-01")
    assert "2026-09-01  7000 lb, as before, second" in history
    assert "The Print, p. 1; read on 2026-08-01 by Ann, text seen" in history
    assert "most = 7000 lb, the rulebook's own, as before, second" in history
    check = ("check", "load.yaml", "--full", "--on")
    assert "[weight] The Print, p. 1, second: most 7000 lb, as before" in printed(
        place, *check, "2026-09-01"
    )
    assert "[weight] The Print, p. 1\n" in printed(place, *check, "2026-08-31")
    # The figure of 2027 begins after the edition, which therefore never had another one.
    last = printed(place, *check, "2027-01-01")
    assert "[weight] The Print, p. 1, second; The Print, p. 2, second\n" in last


def test_a_reading_is_noted_beside_the_json(place: Path) -> None:
    done = call(place, "sources", "print", *READ, *NEW, "--as", "json", "--on", "2026-09-01")
    assert "read_again" in done.stderr
    (document,) = json.loads(done.stdout)["documents"]
    assert (document["id"], document["edition"], document["read_by"]) == ("print", "second", "Ann")


def test_a_document_that_no_rule_in_use_cites_is_not_overdue(place: Path) -> None:
    """The shipped documents may be cited from here; nothing of theirs is in use."""
    late = ("--on", "2040-01-01")
    shown = printed(place, "sources", *late)
    assert "2 documents, 1 to look at again now" in shown
    assert "the source 'cfr-49-392'" not in printed(place, "rulebooks", *late, "--strict", code=1)


def test_readings_follow_each_other(place: Path) -> None:
    noted(place, *READ, *NEW)
    noted(place, "--read-on", "2026-10-01", "--by", "Bo", "--read-as", "secondary copy")
    shown = printed(place, "sources", "print", "--on", "2026-10-02")
    assert "Read: secondary copy on 2026-10-01, by Bo; look again 2027-10-01" in shown
    assert "2026-10-01 by Bo, secondary copy: second: unchanged" in shown
    assert "wanted 2026-10-01 or later, the day of the last one" in noted(place, *READ, code=2)


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["print", "--read-on", "2026-08-01"], "found --read-on without ID or --by"),
        (["--read-on", "2026-08-01", "--by", "Ann"], "found --read-on without ID or --by"),
        (["print", "--by", "Ann"], "but no --read-on; wanted the day it was read"),
        (["print", *READ, "--edition", "x"], "found one of --edition and --from"),
        (["print", *READ, "--from", "2026-09-01"], "found one of --edition and --from"),
        (["print", "--read-on", "2999-01-01", "--by", "A"], "which is still to come"),
        (["prnt"], "did you mean 'print'?"),
        (["recalled", *READ], "nobody had in hand before (from memory); wanted --read-as"),
        (["print", *READ, "--read-as", "seen"], "found 'seen'"),
        (["print", *READ, "--look-again", "2026-08-01"], "wanted a day after 2026-08-01"),
        (["print", *READ, "--edition", "first", "--from", "2026-09-01"], "'first' again"),
        (["print", *READ, "--into", "rules/book.yaml"], "kind"),
    ],
)
def test_a_reading_with_a_problem_is_not_written(place: Path, words: list[str], said: str) -> None:
    before = {path: path.read_text() for path in place.rglob("*.yaml")}
    assert said in printed(place, "sources", *words, code=2)
    assert {path: path.read_text() for path in place.rglob("*.yaml")} == before


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("{source: prnt, was: first", "amendments/a.yaml:3:14: found the source 'prnt'"),
        ("{source: print, was: zero", "amendments/a.yaml:3:26: found the edition 'zero'; wanted "),
        ("{source: print, was: first, edition: b", "found no 'from' here"),
        ("{source: print, was: first, from: 2026-01-01", "found no 'edition' here"),
    ],
)
def test_problems_of_written_readings_have_their_place(place: Path, line: str, said: str) -> None:
    rest = ", read_on: 2026-08-01, read_as: text seen, look_again: 2027-01-01, by: Ann}"
    (place / "amendments" / "a.yaml").write_text(f"kind: sources\nread_again:\n  - {line}{rest}\n")
    assert said in printed(place, "rulebooks", code=2)


@pytest.mark.parametrize(
    ("source", "code"),
    # Any check finds a slip; the law of a place where the trip does not go was not read.
    [("prnt", 2), ("us-ri-width-law", 0), ("us-ri-widht-law", 0)],
)
def test_a_check_refuses_a_reading_of_no_document(place: Path, source: str, code: int) -> None:
    reading = f"{{source: {source}, was: x, read_on: 2026-08-01, read_as: text seen, "
    (place / "amendments" / "a.yaml").write_text(
        f"kind: sources\nread_again:\n  - {reading}look_again: 2027-01-01, by: Ann}}\n"
    )
    said = printed(place, "check", "load.yaml", code=code)
    assert ("found the source 'prnt'" in said) == (code == 2)


def test_a_sources_file_without_documents_is_a_problem(place: Path) -> None:
    (place / "amendments" / "a.yaml").write_text("kind: sources\n")
    said = printed(place, "rulebooks", code=2)
    assert "found no document; wanted `sources` or `read_again`" in said


@pytest.mark.parametrize("kind", ["source", "rule", "rulebook"])
def test_an_id_of_two_sets_is_refused_with_both_places(place: Path, kind: str) -> None:
    """The shipped rules have the source cfr-49-392, the rule tongue-share-ball, and placement."""
    text = {
        "source": SOURCES.replace("id: recalled", "id: cfr-49-392"),
        "rule": BOOK.replace("id: weight", "id: coupler-pin-in").replace("id: book", "id: mine"),
        "rulebook": BOOK.replace("id: book", "id: placement"),
    }[kind]
    name = {"source": "cfr-49-392", "rule": "coupler-pin-in", "rulebook": "placement"}[kind]
    file = "sources.yaml" if kind == "source" else "book.yaml"
    (place / "rules" / file).write_text(text)
    said = printed(place, "rules", "--rules", "shipped", "--rules", "rules", code=2)
    line = next(n for n, each in enumerate(text.splitlines(), 1) if f"id: {name}" in each)
    assert f"rules/{file}:{line}:" in said
    wanted = f"found the id '{name}' again; wanted an id of its own for each {kind}; "
    assert wanted in said
    assert f"{wanted}it is already used at " in said
    assert ".yaml:" in said.partition("already used at ")[2]


def test_a_copy_of_the_shipped_rules_is_used_beside_own_amendments(place: Path) -> None:
    """Each of its documents has the id of a shipped one, which is not used."""
    copy = place / "copy"
    copy.mkdir()
    shutil.copy(shipped_folder("rules") / "sources.yaml", copy)
    (copy / "book.yaml").write_text(BOOK.replace("source: print", "source: cfr-49-392"))
    (place / "amendments" / "a.yaml").write_text(
        SOURCES.replace("id: recalled", "id: policy").replace("id: print", "id: minutes")
    )
    words = ("sources", "cfr-49-392", "--rules", "copy", "--rules", "amendments")
    assert "At copy/sources.yaml:" in printed(place, *words)
    both = printed(place, *words, "--rules", "shipped", code=2)
    assert "found the id 'cfr-49-392' again; wanted an id of its own for each source" in both
