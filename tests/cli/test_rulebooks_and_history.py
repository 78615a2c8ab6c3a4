"""`rulebooks` and `history` as people call them; expected lines are written by hand."""

from pathlib import Path

import pytest

from tests.calling import call

SOURCES = """
kind: sources
sources:
  - {id: print, title: The Print, issuer: a test, edition: first, jurisdiction: any,
     read_as: text seen, look_again: 2026-06-01}
  - {id: utah, title: Utah Code, issuer: a test, edition: first, jurisdiction: US-UT,
     read_as: text seen, look_again: 2030-01-01}
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
    basis: guidance
    level: must
    because: It is so.
    fix: Mend it.
    proofs:
      - {name: at, on: 2015-10-01, given: {trailer.gvwr: 7000 lb}, expect: met, origin: hand}
      - {name: over, given: {trailer.gvwr: 7001 lb}, expect: not met, origin: hand}
      - {name: early, on: 2015-09-30, given: {trailer.gvwr: 1 lb}, expect: not stated, origin: hand}
      - {name: last, on: 2026-12-31, given: {trailer.gvwr: 7000 lb}, expect: met, origin: hand}
      - {name: next, on: 2027-01-01, given: {trailer.gvwr: 6501 lb}, expect: not met, origin: hand}
      - {name: then, on: 2027-01-01, given: {trailer.gvwr: 6500 lb}, expect: met, origin: hand}
"""
AMENDMENTS = {
    "utah": """
kind: amendment
id: utah-law
title: Utah law
layer: place
jurisdiction: US-UT
changes:
  - {rule: weight, threshold: most, was: 7000 lb, value: 6800 lb, from: 2026-03-01,
     until: 2027-01-01, source: utah, at: 1-1}
""",
    "crew": """
kind: amendment
id: crew
title: Crew policy
layer: company
jurisdiction: any
changes:
  - {rule: weight, threshold: most, was: 6500 lb, value: not yet known, from: 2028-01-01,
     source: print, at: p. 9, by: Ann, because: the trailers grow old}
""",
}


@pytest.fixture
def place(tmp_path: Path) -> Path:
    """A folder of rules that are proved, with two amendments beside it."""
    (tmp_path / "rules").mkdir()
    (tmp_path / "rules" / "sources.yaml").write_text(SOURCES)
    (tmp_path / "rules" / "book.yaml").write_text(BOOK)
    return tmp_path


def amend(place: Path) -> None:
    for name, text in AMENDMENTS.items():
        (place / "rules" / f"{name}.yaml").write_text(text)


def checked(place: Path, *words: str, on: str = "2026-06-01") -> tuple[int, list[str]]:
    done = call(place, "rulebooks", "--rules", "rules", "--on", on, *words)
    assert done.stderr == ""  # no progress bar in a pipe
    return done.returncode, done.stdout.splitlines()


def own(lines: list[str]) -> list[str]:
    """Lines without those about shipped sources, whose number is not this test's affair."""
    totals = lines[-1].partition(" sources, ")[2]
    return [line for line in lines[:-1] if line.startswith("rules/")] + [totals]


def test_rules_in_order_are_told_in_one_line(place: Path) -> None:
    code, lines = checked(place)
    assert code == 0
    assert lines[-1].startswith("1 rulebook, 1 rule, 0 tables, 0 amendments, ")
    assert own(lines) == ["6 proofs: nothing wrong"]


@pytest.mark.parametrize(
    ("on", "strict", "code"),
    # The day itself is still in time; the day after is too late, and a fault only with --strict.
    [("2026-06-01", True, 0), ("2026-06-02", False, 0), ("2026-06-02", True, 1)],
)
def test_a_source_is_old_from_the_day_after(
    place: Path, on: str, *, strict: bool, code: int
) -> None:
    done, lines = checked(place, *(["--strict"] if strict else []), on=on)
    assert done == code
    old = [line for line in lines if line.startswith("rules/sources.yaml:5:38: found the source ")]
    assert len(old) == (on == "2026-06-02")
    assert all(line.endswith("(warning)") != strict for line in old)


def test_every_kind_of_fault_is_told_at_its_place(place: Path) -> None:
    text = BOOK.replace("    requires: tr", "    when: most < 0\n    requires: tr")
    (place / "rules" / "book.yaml").write_text(
        text.replace("7001 lb}, expect: not", "7001 lb}, expect:")
    )
    (place / "rules" / "released-ids.txt").write_text("weight  removed: Weight\n")
    code, lines = checked(place)
    assert code == 1
    assert lines[0].startswith("rules/book.yaml:8:5: found a `when` of weight that no facts make ")
    assert any("found does not apply in the proof 'at' of weight; wanted met" in x for x in lines)
    assert any(
        x.startswith("rules/released-ids.txt:1:1: found the removed id 'weight'") for x in lines
    )


def test_a_missing_proof_and_a_new_id_are_told(place: Path) -> None:
    lines = [line for line in BOOK.splitlines() if "name: over" not in line]
    (place / "rules" / "book.yaml").write_text("\n".join(lines))
    (place / "rules" / "released-ids.txt").write_text("")
    code, told = checked(place)
    assert code == 1
    assert told[0] == (
        "rules/book.yaml:8:5: found a change of weight that no proof notices: "
        "most 7000 lb a little higher; wanted a proof that this change would fail"
    )
    assert "1 rule id to be added at release: weight" in told
    assert own(told)[-1] == "5 proofs: 1 fault"


def test_files_that_do_not_load_are_told_with_the_word_meant(place: Path) -> None:
    path = place / "rules" / "book.yaml"
    path.write_text(BOOK.replace("requires: trailer.gvwr", "requires: trailer.gwvr"))
    done = call(place, "rulebooks", "--rules", "rules")
    assert done.returncode == 2
    assert "rules/book.yaml:11:15: found" in done.stderr
    assert "did you mean 'trailer.gvwr'?" in done.stderr


def test_problems_of_several_folders_are_told_together(place: Path) -> None:
    text = BOOK.replace("level: must", "level: most")
    (place / "rules" / "book.yaml").write_text(text)
    (place / "more").mkdir()
    (place / "more" / "book.yaml").write_text(text)
    done = call(place, "rulebooks", "--rules", "rules", "--rules", "more")
    assert done.returncode == 2
    assert [line.partition(":")[0] for line in done.stderr.splitlines()] == [
        "more/book.yaml",
        "rules/book.yaml",
        "2 problems to fix",
    ]


def test_the_shipped_rules_have_nothing_wrong(tmp_path: Path) -> None:
    done = call(tmp_path, "rulebooks", "--on", "2026-06-01")
    assert (done.returncode, done.stderr) == (0, "")
    assert done.stdout.splitlines()[-1].endswith(": nothing wrong")


HISTORY = """Not too heavy
weight, rulebook book (any), at rules/book.yaml:8

most (stricter: lower)
2015-10-01  rulebook: 7000 lb, until 2027-01-01
              The Print, p. 1 (first)
2026-03-01  law of US-UT, Utah law: 6800 lb, until 2027-01-01
              Utah Code, 1-1 (first)
2027-01-01  rulebook: 6500 lb
              The Print, p. 2 (first)
2028-01-01  company, Crew policy: a figure that is not yet known
              The Print, p. 9 (first); by Ann; the trailers grow old
"""

OWN = "from 2027-01-01 until 2028-01-01: most = 6500 lb, the rulebook's own\n"
THEN = f"{OWN}from 2028-01-01 on: most not known: company, Crew policy changes it\n"
ELSEWHERE = "from 2015-10-01 until 2027-01-01: most = 7000 lb, the rulebook's own\n" + THEN
IN_UTAH = (
    "from 2015-10-01 until 2026-03-01: most = 7000 lb, the rulebook's own\n"
    "from 2026-03-01 until 2027-01-01: most = 6800 lb, set by law of US-UT, Utah law\n" + THEN
)
BY_DAYS = {
    "": f"where no jurisdiction amends it\n{ELSEWHERE}\nmost by days, in US-UT\n{IN_UTAH}",
    "US-UT": f"jurisdictions US-UT\n{IN_UTAH}",
    "US-NV,US-UT": f"jurisdictions US-NV, US-UT\n{IN_UTAH}",
    "US": "jurisdictions US\n"
    + IN_UTAH.replace(
        " = 6800 lb, set by law of US-UT, Utah law",
        " not known: law of US-UT, Utah law changes\nit",
    ),
    "US-NV": f"jurisdictions US-NV\n{ELSEWHERE}",
}
"""What holds on which days, by the jurisdictions asked for."""


@pytest.mark.parametrize(
    ("words", "expected"),
    [
        (
            ["--on", "2026-03-01"],
            "In force on 2026-03-01, no jurisdictions stated\n"
            "where no jurisdiction amends it: most = 7000 lb, the rulebook's own\n"
            "in US-UT: most = 6800 lb, set by law of US-UT, Utah law\n",
        ),
        (
            ["--on", "2026-02-28", "--places", "US-UT"],
            "In force on 2026-02-28, jurisdictions US-UT\nmost = 7000 lb, the rulebook's own\n",
        ),
        (
            ["--on", "2026-12-31", "--places", "US-NV,US-UT"],
            "In force on 2026-12-31, jurisdictions US-NV, US-UT\n"
            "most = 6800 lb, set by law of US-UT, Utah law\n",
        ),
        (
            ["--on", "2026-12-31", "--places", "US"],
            "In force on 2026-12-31, jurisdictions US\n"
            "most not known: law of US-UT, Utah law changes it\n",
        ),
        (
            ["--on", "2028-01-01", "--places", "US-NV"],
            "In force on 2028-01-01, jurisdictions US-NV\n"
            "most not known: company, Crew policy changes it\n",
        ),
        (
            ["--on", "2015-09-30", "--places", "US-NV"],
            "In force on 2015-09-30, jurisdictions US-NV\nmost has no value yet or any more\n",
        ),
    ],
)
def test_history_tells_every_value_and_what_is_in_force(
    place: Path, words: list[str], expected: str
) -> None:
    amend(place)
    done = call(place, "history", "weight", "--rules", "rules", *words)
    assert (done.returncode, done.stderr) == (0, "")
    places = words[words.index("--places") + 1] if "--places" in words else ""
    assert done.stdout == f"{HISTORY}\nmost by days, {BY_DAYS[places]}\n{expected}"


def test_history_tells_a_repeal_with_its_reason(place: Path) -> None:
    (place / "rules" / "utah.yaml").write_text(
        AMENDMENTS["utah"].partition("changes:")[0]
        + "repeals:\n  - {rule: weight, from: 2026-03-01, source: utah, at: 1-2, by: The House,\n"
        "     because: the bridge is new}\n"
    )
    rest = ("history", "weight", "--rules", "rules", "--places", "US-UT", "--on")
    before, after = (call(place, *rest, day).stdout for day in ("2026-02-28", "2026-03-01"))
    assert "2026-03-01  law of US-UT, Utah law: not a rule\n" in after
    assert "Utah Code, 1-2 (first); by The House; the bridge is new\n" in after
    assert before.endswith("most = 7000 lb, the rulebook's own\n")
    assert after.endswith("repealed by law of US-UT, Utah law\n")


def test_history_fits_sixty_columns_without_colour(place: Path) -> None:
    amend(place)
    done = call(place, "history", "weight", "--rules", "rules", COLUMNS="60", NO_COLOR="1")
    assert max(map(len, done.stdout.splitlines())) <= 60
    assert "\x1b" not in done.stdout


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (["wieght"], "found no rule 'wieght'; wanted an id that `cinchbook rules` lists; did you "),
        (["weight", "--places", "us-ut"], "found the jurisdiction 'us-ut'; wanted a country such "),
        (["weight", "--on", "May"], "found 'May'; wanted a day such as 2026-05-14"),
    ],
)
def test_history_refuses_with_the_word_meant(place: Path, words: list[str], message: str) -> None:
    done = call(place, "history", *words, "--rules", "rules")
    assert done.returncode == 2
    assert done.stderr.startswith(message)
