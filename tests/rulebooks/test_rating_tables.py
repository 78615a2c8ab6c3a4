"""Which table of unmarked devices counts, where several are held; limits are those written here."""

from collections.abc import Callable
from datetime import date
from pathlib import Path

import numpy as np
import pytest

from checker.documents.problems import ProblemsFoundError
from checker.rulebooks.loading import load_rulebooks
from checker.rulebooks.rating_tables import RatingsTable, ratings_on, table_problems
from tests.calling import call

LB = 4.4482216152605  # N, exact
DAY = date(2026, 6, 1)
SOURCES = """
kind: sources
sources:
  - {id: notes, title: Notes, issuer: us, edition: x, jurisdiction: any, read_as: text seen,
     look_again: 2030-01-01}
  - {id: code, title: Code, issuer: US, edition: x, jurisdiction: US, read_as: text seen,
     look_again: 2030-01-01}
"""
Read = Callable[..., list[RatingsTable]]


def table(name: str, sizes: dict[str, int], more: str = "", place: str = "US") -> str:
    """A table of grade 70 chain with limits in pounds by size in inches."""
    rows = "\n".join(
        f"  - {{device: chain, grade: '70', size: {size} in, working_load_limit: {limit} lb}}"
        for size, limit in sizes.items()
    )
    return f"""kind: ratings
id: {name}
title: Table {name}
jurisdiction: {place}
source: notes
at: p. 1
from: 2026-01-01
proved_on: 2026-06-01
{more}
rows:
{rows}
proofs:
  - {{name: none, device: chain, grade: '70', size: 9 in, expect: no value, origin: print}}
"""


LAW = table("law", {"1/4": 3000, "3/8": 6000})


@pytest.fixture
def read(tmp_path: Path) -> Read:
    """The tables of these texts, from files named by their number."""

    def tables(*texts: str) -> list[RatingsTable]:
        (tmp_path / "sources.yaml").write_text(SOURCES)
        for number, text in enumerate(texts):
            (tmp_path / f"{number}.yaml").write_text(text)
        return list(load_rulebooks(tmp_path).tables)

    return tables


def limits(tables: list[RatingsTable], *places: str, on: date = DAY) -> dict[str, float]:
    """By size in inches, the pounds that a chain of grade 70 gets; without it where it has none."""
    found = ratings_on(tables, on, places or None)
    pounds = {
        size: found.rating("chain", "70", inches * 0.0254, np.nan) / LB
        for size, inches in {"1/4": 0.25, "3/8": 0.375, "1/2": 0.5}.items()
    }
    return {size: round(float(each)) for size, each in pounds.items() if np.isfinite(each)}


def problems(tables: list[RatingsTable]) -> list[str]:
    """Every problem behind its file's name and position."""
    found = table_problems(tables)
    return [f"{Path(e.file).name}:{e.mark.line}:{e.mark.column}: {e.words}" for e in found]


def test_rows_of_a_table_that_goes_before_count_first(read: Read) -> None:
    own = table("own", {"3/8": 5000, "1/2": 9000}, "goes_before: law", place="any")
    tables = read(LAW, own)
    assert list(table_problems(tables)) == []
    assert limits(tables, "US-UT") == {"1/4": 3000, "3/8": 5000, "1/2": 9000}
    assert limits(tables) == {"1/4": 3000, "3/8": 5000, "1/2": 9000}
    assert limits(tables, on=date(2025, 12, 31)) == {}


def test_a_table_that_replaces_another_is_used_alone_on_its_days(read: Read) -> None:
    later = "replaces: law\nuntil: 2026-07-01"
    tables = read(LAW, table("own", {"3/8": 5000}, later))
    assert list(table_problems(tables)) == []
    assert limits(tables, "US-UT", on=date(2026, 6, 30)) == {"3/8": 5000}
    assert limits(tables, "US-UT", on=date(2026, 7, 1)) == {"1/4": 3000, "3/8": 6000}


def test_the_lowest_limit_of_all_places_of_a_trip_counts(read: Read) -> None:
    tables = read(LAW, table("other", {"1/4": 2500, "3/8": 7000}, place="CA"))
    assert list(table_problems(tables)) == []
    assert limits(tables, "US-UT") == {"1/4": 3000, "3/8": 6000}
    assert limits(tables, "CA-AB") == {"1/4": 2500, "3/8": 7000}
    assert limits(tables, "US-UT", "CA-AB") == {"1/4": 2500, "3/8": 6000}
    # As before there was a second table: where none is of a place of the trip, all count.
    assert limits(tables, "DE") == {"1/4": 2500, "3/8": 6000}


def test_a_size_that_one_place_of_the_trip_does_not_print_has_no_limit(read: Read) -> None:
    tables = read(LAW, table("other", {"1/4": 2500}, place="CA"))
    assert limits(tables, "US-UT", "CA-AB") == {"1/4": 2500}


@pytest.mark.parametrize("place", ["US", "any"])
def test_two_tables_for_one_place_and_day_are_refused_with_both_lines(
    read: Read, place: str
) -> None:
    (found,) = table_problems(read(LAW, table("own", {"3/8": 5000}, place=place)))
    assert found.file.endswith("0.yaml")
    assert found.mark.line == 2
    assert found.found.startswith("a table for a place and days of another one (")
    assert found.found.endswith("1.yaml:2)")


def test_days_that_follow_each_other_and_other_places_need_no_order(read: Read) -> None:
    first = table("first", {"3/8": 5000}, "until: 2026-05-01")
    second = table("second", {"3/8": 5000}).replace("from: 2026-01-01", "from: 2026-05-01")
    assert problems(read(first, second, table("else", {"3/8": 5000}, place="CA"))) == []


def test_a_limit_above_that_of_the_law_needs_a_document_of_the_law(read: Read) -> None:
    above = table("own", {"1/4": 3000, "3/8": 6001}, "goes_before: law")
    (found,) = problems(read(LAW, above))
    assert found.startswith("1.yaml:12:5: found a limit of chain above that of law (")
    of_law = above.replace("source: notes", "source: code")
    assert problems(read(LAW, of_law)) == []


def test_a_device_read_as_a_stronger_one_is_above_the_law_too(read: Read) -> None:
    """The law reads a chain without a grade as grade 30, the company as grade 70."""
    reads = "counts_as: [{{device: chain, reads_device: chain, reads_grade: '{}', at: p. 1}}]\n"
    weak = "rows:\n  - {device: chain, grade: '30', size: 3/8 in, working_load_limit: 2000 lb}\n"
    law = LAW.replace("rows:\n", weak) + reads.format("30")
    own = table("own", {"3/8": 6000}, "goes_before: law")
    assert problems(read(law, own)) == []
    (found,) = problems(read(law, own + reads.format("70")))
    assert "a limit of chain above that of law" in found


def test_a_circle_of_tables_is_refused(read: Read) -> None:
    found = problems(
        read(table("a", {"3/8": 1}, "replaces: b"), table("b", {"3/8": 1}, "goes_before: a"))
    )
    assert [each.partition(": ")[0] for each in found] == ["0.yaml:9:11", "1.yaml:9:14"]


@pytest.mark.parametrize(
    ("more", "said"),
    [
        ("goes_before: lav", "found the table 'lav'; wanted a shipped table .* did you mean 'law'"),
        ("goes_before: law\nreplaces: law", "found `replaces` beside `goes_before`"),
    ],
)
def test_a_table_over_an_unknown_one_is_refused(read: Read, more: str, said: str) -> None:
    with pytest.raises(ProblemsFoundError, match=said):
        read(LAW, table("own", {"3/8": 5000}, more))


def test_explain_names_the_table_and_prove_takes_a_table_alone(tmp_path: Path) -> None:
    own = table("own", {"3/8": 5000}, "goes_before: us-working-load-limits", place="any")
    (tmp_path / "own").mkdir()
    (tmp_path / "own" / "sources.yaml").write_text(SOURCES)
    (tmp_path / "own" / "table.yaml").write_text(own)
    (tmp_path / "cinchbook.yaml").write_text("kind: settings\nrules: [shipped, own]\n")
    chain = "{device: chain, grade: '70', size: 3/8 in, unmarked: yes, article: m}"
    (tmp_path / "load.yaml").write_text(
        "kind: load\ntitle: A load\ntrip: {places: [US-UT]}\n"
        f"articles: [{{title: m, weight: 3000 lb}}]\ntiedowns: [{chain}]\n"
    )
    rule = "us-aggregate-working-load-limit"
    explained = call(tmp_path, "explain", "load.yaml", rule, COLUMNS="200").stdout
    assert "Table: Table own (own)" in explained
    proved = call(tmp_path, "prove", "--rules", "own")
    # Limit both ways and the first day both ways; no proof is at any of them.
    assert "1 rules and tables, 1 proofs, 0 failing; 4 nudges, 0 noticed" in proved.stdout
