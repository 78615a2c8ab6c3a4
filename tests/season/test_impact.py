"""The impact of a rule change on saved loads: expected verdicts worked out by hand.

By hand, share of the tongue in the loaded trailer: side-by-side 273 / 2340 = 11.7 %.
"""

from collections.abc import Callable, Sequence
from datetime import date
from pathlib import Path, PurePath

import numpy as np
import pytest
from msgspec.structs import replace

from checker.documents.resources import shipped_folder
from checker.load.build import read_profile
from checker.load.files import NothingThereError, load_files
from checker.rulebooks.loading import load_rulebooks
from checker.rulebooks.model import Rulebooks
from checker.rulebooks.selection import combine_rulebooks
from checker.rulebooks.verdicts import Verdict
from checker.season.hauls.chunk import chunk_of_profile
from checker.season.impact import Impact, without
from checker.season.impact import impact as hold_against_both
from checker.upkeep.review.difference import days_to_try
from checker.upkeep.review.differences import differences
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
    differing = differences(before, after)
    return hold_against_both(
        chunks,
        before,
        after,
        differing,
        lambda row: PurePath(names[row]),
        lambda rows: np.full(rows.shape, on.toordinal()),
    )


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


def test_a_load_is_tried_on_every_day_on_which_a_difference_begins_or_ends(
    books: Rulebooks, amended: Amended
) -> None:
    """On days without a difference, as before the first or from an end on, nothing can change."""
    found = differences(books, amended("11 %"))
    assert days_to_try(MAY, found) == [JULY]
    assert days_to_try(date(2026, 8, 1), found) == [JULY, date(2026, 8, 1)]


def test_seasons_are_tried_in_one_year_and_on_the_own_day(
    books: Rulebooks, amended: Amended
) -> None:
    """A season from 1 November to 1 May, within which another value holds in January."""
    winter = "12 %, each_year: {from: 11-01, until: 05-01}"
    found = differences(books, amended(winter))
    assert days_to_try(MAY, found) == [date(2026, 11, 1)]
    late = date(2040, 12, 24)
    assert days_to_try(late, found) == [date(2026, 11, 1), late]


def test_the_end_of_one_value_is_tried_where_another_begins(
    tmp_path: Path, books: Rulebooks
) -> None:
    """11 % until 1 September, then 12 %: 11.7 % is over the first alone."""
    line = "{rule: tongue-share-ball, threshold: heaviest, was: 15 %, common_practice: yes, "
    (tmp_path / "crew.yaml").write_text(
        "kind: amendment\nid: crew\ntitle: Crew\nlayer: company\njurisdiction: any\nchanges:\n"
        f"  - {line}value: 12 %, from: 2026-07-01, by: A, because: B}}\n"
        f"  - {line}value: 11 %, from: 2026-09-01, until: 2026-10-01, by: A, because: B}}\n"
    )
    after = combine_rulebooks([books, load_rulebooks(tmp_path, known=books)])
    days = days_to_try(MAY, differences(books, after))
    assert days == [JULY, date(2026, 9, 1), date(2026, 10, 1)]
    on_each = [impact(["side-by-side-in-order"], books, after, day).shifts for day in days]
    assert [len(each) for each in on_each] == [0, 1, 0]


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


def as_should(books: Rulebooks, name: str) -> Rulebooks:
    """The rules with one must-rule as a should-rule: its verdicts stay, outcomes turn."""
    return replace(
        books,
        books=tuple(
            replace(
                book,
                rules=tuple(
                    replace(rule, level="should") if rule.id == name else rule
                    for rule in book.rules
                ),
            )
            for book in books.books
        ),
    )


@pytest.mark.parametrize("change", ["level", "rulebook", "figure", "none before"])
def test_only_rules_that_differ_are_evaluated_with_the_same_result(
    books: Rulebooks, amended: Amended, change: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The same as if all rules were evaluated under both sets of rules."""
    before, after = {
        "level": lambda: (books, as_should(books, "tongue-share-ball")),
        "rulebook": lambda: (books, replace(books, books=books.books[1:])),
        "figure": lambda: (books, amended("11 %")),
        "none before": lambda: (Rulebooks((), ()), books),
    }[change]()
    names = ["too-far-back", "side-by-side-in-order", "rear-straps-only"]
    found = impact(names, before, after)
    monkeypatch.setattr("checker.season.impact.rules_to_try", lambda _differences: None)
    whole = impact(names, before, after)
    assert found.turned or change == "rulebook"
    for part in ("shifts", "turned"):
        assert [str(each) for each in getattr(found, part)] == [
            str(each) for each in getattr(whole, part)
        ]
