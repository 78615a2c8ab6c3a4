"""The impact of a rule change on saved loads: expected verdicts worked out by hand.

By hand, share of the tongue in the loaded trailer: side-by-side 273 / 2340 = 11.7 %.
"""

from collections.abc import Callable, Sequence
from datetime import date
from pathlib import Path, PurePath

import pytest
from msgspec.structs import replace

from checker.documents.resources import shipped_folder
from checker.load.build import read_profile
from checker.load.files import NothingThereError, load_files
from checker.rulebooks.loading import load_rulebooks
from checker.rulebooks.model import Rulebooks
from checker.rulebooks.selection import combine_rulebooks
from checker.rulebooks.verdicts import Verdict
from checker.season.chunk import chunk_of_profile
from checker.season.impact import Impact, days_to_check, without
from checker.season.impact import impact as hold_against_both
from tests.shipped import shipped_rules

LOADS = shipped_folder("profiles") / "loads"
MAY, JULY = date(2026, 5, 14), date(2026, 7, 1)

Amended = Callable[[str], Rulebooks]


@pytest.fixture(scope="session")
def books() -> Rulebooks:
    return shipped_rules()


@pytest.fixture
def amended(tmp_path: Path, books: Rulebooks) -> Amended:
    """The shipped rules with the heaviest tongue share of a ball coupling changed from July on."""

    def read(value: str) -> Rulebooks:
        (tmp_path / "crew.yaml").write_text(
            "kind: amendment\nid: crew\ntitle: Crew\nlayer: company\njurisdiction: any\n"
            "changes:\n  - {rule: tongue-share-ball, threshold: heaviest, was: 15 %, "
            f"value: {value}, from: 2026-07-01, common_practice: yes, by: A, because: B}}\n"
        )
        return combine_rulebooks([books, load_rulebooks(tmp_path, known=books)])

    return read


def impact(names: Sequence[str], before: Rulebooks, after: Rulebooks, on: date = JULY) -> Impact:
    """Of some bundled loads on a day."""
    chunks = [
        chunk_of_profile(read_profile(LOADS / f"{name}.yaml"), row, on)
        for row, name in enumerate(names)
    ]
    return hold_against_both(chunks, before, after, lambda row: PurePath(names[row]))


@pytest.mark.parametrize(
    ("value", "after"),
    [
        ("11 %", Verdict.NOT_MET),  # 11.7 > 11
        ("12 %", None),  # 11.7 < 12: nothing changes
        ("not yet known", Verdict.NOT_STATED),
    ],
)
def test_a_stricter_share_turns_the_load_that_has_more(
    books: Rulebooks, amended: Amended, value: str, after: Verdict | None
) -> None:
    found = impact(["side-by-side-in-order"], books, amended(value))
    assert found.checked == 1
    if after is None:
        assert (found.shifts, found.turned) == ((), ())
        return
    (shift,) = found.shifts
    assert (shift.rule.id, shift.before, shift.after) == ("tongue-share-ball", Verdict.MET, after)
    assert [change.by for change in shift.changes] == ["A"]
    assert [each.after for each in found.turned] == ["hold" if shift.breaks else "open"]


def test_before_its_first_day_a_change_changes_nothing(books: Rulebooks, amended: Amended) -> None:
    found = impact(["side-by-side-in-order"], books, amended("11 %"), MAY)
    assert (found.shifts, found.turned, found.nearest) == ((), (), ())


def test_a_change_that_begins_later_is_asked_about_on_its_first_day(amended: Amended) -> None:
    assert days_to_check(MAY, amended("11 %")) == [JULY]
    assert days_to_check(date(2026, 8, 1), amended("11 %")) == [date(2026, 8, 1)]


def test_what_is_still_met_stands_by_how_little(books: Rulebooks, amended: Amended) -> None:
    """11.655 % of at most 12 %: (12 - 11.655) / 12 = 2.9 % inside."""
    found = impact(["side-by-side-in-order"], books, amended("12 %"))
    (near,) = found.nearest
    assert near.margin == pytest.approx((0.12 - 272.7379 / 2340) / 0.12, rel=1e-3)


def test_the_order_of_loads_does_not_matter(books: Rulebooks, amended: Amended) -> None:
    names = ["side-by-side-in-order", "mower-in-order", "too-far-back"]
    after = amended("11 %")
    one, other = (impact(each, books, after) for each in (names, names[::-1]))
    for part in ("shifts", "turned", "nearest"):
        keys = [sorted(str(each) for each in getattr(found, part)) for found in (one, other)]
        assert keys[0] == keys[1]


def test_the_same_rules_change_nothing(books: Rulebooks) -> None:
    found = impact(["too-far-forward", "rear-straps-only"], books, books)
    assert (found.checked, found.shifts, found.turned) == (2, (), ())


def test_a_rule_that_is_gone_or_new_is_told(books: Rulebooks) -> None:
    fewer = replace(
        books, books=tuple(each for each in books.books if each.id != "north-america-placement")
    )
    found = impact(["too-far-back"], books, fewer)
    gone = {shift.rule.id: (shift.before, shift.after) for shift in found.shifts}
    assert gone["tongue-share-ball"] == (Verdict.NOT_MET, None)
    assert [(each.before, each.after) for each in found.turned] == [("hold", "no rule broken")]
    back = impact(["too-far-back"], fewer, books)
    assert {shift.rule.id: shift.before for shift in back.shifts}["tongue-share-ball"] is None


def test_without_takes_the_amendment_out_again(books: Rulebooks, amended: Amended) -> None:
    after = amended("11 %")
    (amendment,) = after.amendments
    plain = without(after, [amendment.file])
    assert (plain.changes, plain.amendments, plain.books) == ((), (), books.books)


def test_folders_give_their_loads_and_nothing_else(tmp_path: Path) -> None:
    (tmp_path / "deep").mkdir()
    (tmp_path / "deep" / "b.yaml").write_text("# a load\nkind: load   # yes\ntitle: b\n")
    (tmp_path / "a.yaml").write_text("kind: load\r\n")
    (tmp_path / "trailer.yaml").write_text("kind: trailer\nnote: |\n  kind: load\n")
    (tmp_path / "notes.txt").write_text("kind: load\n")
    found = [path.relative_to(tmp_path).as_posix() for path in load_files([str(tmp_path)]).files]
    assert found == ["a.yaml", "deep/b.yaml"]
    assert load_files([f"{tmp_path}/*.yaml"]).files[0].name == "a.yaml"
    with pytest.raises(NothingThereError, match="found no load profile under"):
        load_files([str(tmp_path / "nowhere")])
