"""Copies of bundled rules of law that ask less: each way is found at its rule."""

from pathlib import Path

import pytest

from checker.rulebooks.loading import load_rulebooks
from checker.upkeep.bundled_law import less_strict_than_bundled
from tests.calling import call

SOURCES = """
kind: sources
sources:
  - {id: print, title: The Print, issuer: a test, edition: first, jurisdiction: US,
     read_as: text seen, look_again: 2030-01-01}
  - {id: newer, title: The Print, issuer: a test, edition: second, jurisdiction: US,
     read_as: text seen, look_again: 2030-01-01}
"""
BOOK = """
kind: rulebook
id: book
title: A book
jurisdiction: US
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
          - {value: 7000 lb, from: 2020-01-01, source: print, at: p. 1}
    source: print
    at: p. 1
    basis: law
    level: must
    because: it is so
    fix: mend it
    proofs: [{name: none, given: {}, expect: not stated, origin: hand}]
  - id: seats
    title: Enough seats
    question: limits
    requires: tow_vehicle.seats >= 2
    source: print
    at: p. 1
    basis: law
    level: must
    because: it is so
    fix: mend it
    proofs: [{name: none, given: {}, expect: not stated, origin: hand}]
"""


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("level: must", "level: should", "8:`level: should` in weight, which is less strict than"),
        ("basis: law", "basis: guidance", "8:`basis: guidance` in weight"),
        (
            "    requires: trailer",
            "    when: trip.public_road\n    requires: trailer",
            "8:another `w",
        ),
        (
            "gvwr <= most",
            "gvwr <= most or trip.over_width_permit",
            "8:another `requires` in weight",
        ),
        ("value: 7000 lb", "value: 7001 lb", "8:most 7001 lb in weight"),
        ("from: 2020-01-01", "from: 2021-01-01", "8:no most on 2020-01-01 in weight"),
        ("    question", "    from: 2021-01-01\n    question", "8:days in force (from 2021-01-01)"),
        ("jurisdiction: US", "jurisdiction: US-UT", "1:`jurisdiction: US-UT` in book"),
        ("id: seats", "id: chairs", "1:no rule 'seats' in book"),
        # The same, stricter, in words alone, or by a newer document.
        ("value: 7000 lb", "value: 6999 lb", None),
        ("title: Not too heavy", "title: Light enough", None),
        (
            "7000 lb, from: 2020-01-01, source: print",
            "7100 lb, from: 2020-01-01, source: newer",
            None,
        ),
        (
            "    source: print\n    at: p. 1\n    basis: law\n    level: must",
            "    source: newer\n    at: p. 1\n    basis: law\n    level: should",
            None,
        ),
    ],
)
def test_each_way_to_ask_less_is_found(
    tmp_path: Path, old: str, new: str, said: str | None
) -> None:
    assert old in BOOK
    sets = []
    for name, text in (("bundled", BOOK), ("own", BOOK.replace(old, new, 1))):
        folder = tmp_path / name
        folder.mkdir()
        (folder / "sources.yaml").write_text(SOURCES)
        (folder / "book.yaml").write_text(text)
        sets.append(load_rulebooks(folder))
    bundled, own = sets
    found = [f"{each.mark.line}:{each.found}" for each in less_strict_than_bundled(own, bundled)]
    assert [each.startswith(said or "") for each in found] == [True] * (said is not None)


def test_the_check_of_rule_files_finds_it(tmp_path: Path) -> None:
    """A copy of one shipped rulebook, whose rule of law only advises."""
    shipped = Path(__file__).parents[2] / "rules" / "us" / "size.yaml"
    (tmp_path / "size.yaml").write_text(
        shipped.read_text().replace("level: must", "level: should", 1)
    )
    done = call(tmp_path, "rulebooks", "--rules", "size.yaml")
    assert done.returncode == 1
    assert "size.yaml:26:5: found `level: should` in us-width, which is less strict" in done.stdout
