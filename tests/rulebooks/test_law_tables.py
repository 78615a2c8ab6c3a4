"""Law tables: what a cell becomes, what a row says of how it was read, and every bad input."""

from datetime import date
from functools import cache
from pathlib import Path

import pytest

from checker.documents.problems import ProblemsFoundError
from checker.documents.resources import shipped_folder
from checker.rulebooks.loading import load_rulebooks
from checker.rulebooks.model import Rulebook, Rulebooks
from checker.rulebooks.needed_rulebooks import Trips
from checker.upkeep.proving import prove

HEAD = """\
kind: law-table
id: own
title: Trailer brakes, own table
jurisdiction: US
subject: trailer brakes
from: 2020-01-01
look_again: 2027-01-01
proved_on: 2026-06-01
places:
"""
CELL = (
    "{shape: brakes-by-weight, measured_by: gross weight, comparison: from, weight: 2500 lb, "
    "brakes_on: some wheels}"
)
ROW = f"""\
  - place: US-UT-BASIN
    name: Juniper Basin
    read: text seen
    law: County Code
    section: "7-2"
    edition: copy of 2026
    cells:
      - {CELL}
"""


@cache
def shapes() -> Rulebooks:
    """The shipped shapes with their proofs."""
    file = shipped_folder("rules") / "law-shapes.yaml"
    return load_rulebooks(file, with_proofs=True)


def read(folder: Path, rows: str = ROW, *, with_proofs: bool = False, **more: object) -> Rulebooks:
    """The rulebooks of one table, with the shipped shapes."""
    (folder / "table.yaml").write_text(HEAD + rows)
    return load_rulebooks(folder, known=shapes(), with_proofs=with_proofs, **more)  # type: ignore[arg-type]


def problems(folder: Path, rows: str) -> list[str]:
    with pytest.raises(ProblemsFoundError, match="yaml") as found:
        read(folder, rows)
    return [str(each).removeprefix(str(folder)).lstrip("/") for each in found.value.problems]


def only_book(rulebooks: Rulebooks) -> Rulebook:
    (book,) = rulebooks.books
    return book


def test_a_cell_becomes_a_rule_of_its_place(tmp_path: Path) -> None:
    book = only_book(read(tmp_path))
    (rule,) = book.rules
    assert (book.id, book.title, book.jurisdiction) == (
        "us-ut-basin",
        "Juniper Basin",
        "US-UT-BASIN",
    )
    assert book.subjects == {"trailer brakes"}
    assert rule.id == "us-ut-basin-trailer-brakes"
    assert rule.title == "Juniper Basin: a trailer weighing from 2,500 lb has brakes of its own"
    assert rule.requires.text == "trailer.has_brakes or trailer.gross_weight < weight"
    assert (rule.level, rule.basis, str(rule.citation)) == ("must", "law", "County Code, 7-2")
    (value,) = rule.thresholds["weight"].values
    assert (value.text, value.starts, value.citation.at) == ("2500 lb", date(2020, 1, 1), "7-2")
    assert str(value.location).endswith("table.yaml:17")


def test_every_proof_of_a_filled_shape_guards_its_figures(tmp_path: Path) -> None:
    proved = prove(read(tmp_path, with_proofs=True))
    assert proved.proved
    assert proved.nudges > 4


@pytest.mark.parametrize("figures", [("2500 lb", "3000 lb"), ("3000 lb", "2500 lb")])
def test_rows_that_follow_each_other_are_values_of_one_rule(
    tmp_path: Path, figures: tuple[str, str]
) -> None:
    first, second = (ROW.replace("2500 lb", each) for each in figures)
    first = first.replace("    law:", "    until: 2023-07-01\n    law:")
    second = second.replace("    law:", "    from: 2023-07-01\n    until: 2026-01-01\n    law:")
    rulebooks = read(tmp_path, second + first, with_proofs=True)
    (rule,) = only_book(rulebooks).rules
    values = rule.thresholds["weight"].values
    assert [(each.text, each.starts, each.ends) for each in values] == [
        (figures[0], date(2020, 1, 1), date(2023, 7, 1)),
        (figures[1], date(2023, 7, 1), date(2026, 1, 1)),
    ]
    assert prove(rulebooks).proved


NO_SURGE = (
    "{shape: no-surge-brakes, id: us-ut-basin-trailer-brakes, measured_by: gross weight, "
    "comparison: over, weight: 8000 lb}"
)


@pytest.mark.parametrize(
    ("old", "new", "found"),
    [
        (CELL, NO_SURGE, "a second cell for the rule 'us-ut-basin-trailer-brakes'"),
        ("from, weight", "over, weight", "other words for the rule 'us-ut-basin-trailer-brakes'"),
    ],
)
def test_rows_that_follow_each_other_change_figures_alone(
    tmp_path: Path, old: str, new: str, found: str
) -> None:
    first = ROW.replace("    law:", "    until: 2023-07-01\n    law:")
    second = ROW.replace("    law:", "    from: 2023-07-01\n    law:").replace(old, new)
    (told,) = problems(tmp_path, first + second)
    assert found in told


def test_a_rule_of_a_text_that_nobody_read_is_advice(tmp_path: Path) -> None:
    (rule,) = only_book(read(tmp_path, ROW.replace("text seen", "secondary copy"))).rules
    assert rule.level == "should"
    assert rule.because.endswith("Not read in the statute: open the statute itself.")
    assert rule.citation.source is not None
    assert rule.citation.source.read_as == "secondary copy"


BY_HAND = """\
kind: rulebook
id: us-ut-basin
title: Basin
jurisdiction: US-UT-BASIN
proved_on: 2026-06-01
rules:
  - id: basin-flag
    title: A flag
    question: walk-around
    requires: walkaround.flags_fitted
    common_practice: yes
    basis: common practice
    level: should
    because: It is seen.
    fix: Fit one.
    proofs:
      - {name: fitted, given: {walkaround.flags_fitted: yes}, expect: met, origin: by hand}
"""
NOT_FOUND = "  - place: US-UT-BASIN\n    read: not found\n"
WITHOUT_CELLS = ROW.split("    cells:")[0] + "    note: It asks nothing.\n"


@pytest.mark.parametrize(
    ("rows", "held"),
    [
        (ROW, True),
        (ROW.replace("text seen", "secondary copy"), False),
        (WITHOUT_CELLS, True),
        (WITHOUT_CELLS.replace("text seen", "secondary copy"), False),
        (WITHOUT_CELLS + "    not_checked: A stop in 40 ft.\n", False),
        (NOT_FOUND, False),
    ],
)
def test_a_row_holds_its_subject_only_if_its_text_was_read(
    tmp_path: Path, rows: str, *, held: bool
) -> None:
    rulebooks = read(tmp_path, rows)
    assert [book.subjects for book in rulebooks.books if book.subjects] == (
        [frozenset({"trailer brakes"})] if held else []
    )
    ((row,),) = [table.rows for table in rulebooks.law_tables]
    assert row.holds_subject == held


def test_a_subject_of_two_tables_is_held_where_both_were_read(tmp_path: Path) -> None:
    """As height and length, which stand in a table each."""
    other = HEAD.replace("id: own", "id: other") + WITHOUT_CELLS
    (tmp_path / "other.yaml").write_text(other)
    assert only_book(read(tmp_path)).subjects == {"trailer brakes"}
    (tmp_path / "other.yaml").write_text(other.replace("text seen", "secondary copy"))
    assert only_book(read(tmp_path)).subjects == frozenset()


def test_a_table_of_counties_says_nothing_of_the_states_around_them(tmp_path: Path) -> None:
    county = (HEAD + WITHOUT_CELLS).replace("id: own", "id: county")
    (tmp_path / "county.yaml").write_text(county.replace("text seen", "from memory"))
    books = read(tmp_path, ROW.replace("US-UT-BASIN", "US-UT")).books
    held = {book.jurisdiction: book.subjects for book in books}
    assert held == {"US-UT": {"trailer brakes"}}


def test_a_table_for_public_roads_asks_nothing_elsewhere(tmp_path: Path) -> None:
    (tmp_path / "table.yaml").write_text(HEAD.replace("from:", "roads: public\nfrom:") + ROW)
    rulebooks = load_rulebooks(tmp_path, known=shapes(), with_proofs=True)
    (rule,) = only_book(rulebooks).rules
    assert rule.when is not None
    assert rule.when.text == "trip.public_road"
    off_road = [proof for proof in rule.proofs if proof.given.get("trip.public_road") == 0]
    assert [str(proof.expect) for proof in off_road] == ["does not apply"]
    assert prove(rulebooks).proved


@pytest.mark.parametrize(
    ("condition", "title", "unless"),
    [
        (
            "built_from: 1966-01-02",
            "(built from {built_from} on)",
            "trailer.built < built_from",
        ),
        (
            "built_before: 1974-07-01",
            "(built before {built_before})",
            "trailer.built >= built_before",
        ),
        # Later than the first day of the row, and in force from that day.
        ("built_from: 2022-01-01", "(built from {built_from} on)", "trailer.built < built_from"),
        ("federal_from: 10001 lb", "brakes of its own", "weight_or_rating >= federal_from)"),
    ],
)
def test_a_condition_of_a_cell_frees_whom_the_law_does_not_bind(
    tmp_path: Path, condition: str, title: str, unless: str
) -> None:
    row = ROW.replace("weight: 2500 lb", f"weight: 2500 lb, {condition}")
    rulebooks = read(tmp_path, row, with_proofs=True)
    (rule,) = only_book(rulebooks).rules
    assert rule.text.title.endswith(title)
    assert rule.requires.text.endswith(unless)
    assert prove(rulebooks).proved
    name, figure = condition.split(": ")
    (value,) = rule.thresholds[name].values
    assert value.text == figure
    assert value.starts == (
        date(2020, 1, 1)
        if "built" not in name
        else min(date.fromisoformat(figure), date(2020, 1, 1))
    )


def test_rows_that_follow_each_other_keep_their_conditions(tmp_path: Path) -> None:
    first, second = (
        ROW.replace("2500 lb", f"{weight}, built_from: 1966-01-02") for weight in ("2500 lb", "2 t")
    )
    first = first.replace("    law:", "    until: 2023-07-01\n    law:")
    second = second.replace("    law:", "    from: 2023-07-01\n    law:")
    assert prove(read(tmp_path, first + second, with_proofs=True)).proved
    (told,) = problems(tmp_path, first + second.replace(", built_from: 1966-01-02", ""))
    assert "found other words for the rule" in told
    gap = second.replace("from: 2023-07-01", "from: 2024-07-01")
    (told, *_) = problems(tmp_path, first + gap)
    assert "found no value from 2023-07-01 until 2024-07-01" in told


@pytest.mark.parametrize(
    ("stated", "found"),
    [
        ("built_from: 1966", "found '1966'; wanted a day such as '1988-07-01'"),
        ("built_from: 3 h", "found '3 h'; wanted a day such as '1988-07-01'"),
        ("built_fron: 1966-01-02", "did you mean 'built_from'?"),
        ("roads: public", "found 'roads'; wanted a key of the shape brakes-by-weight"),
    ],
)
def test_a_condition_that_cannot_be_read_is_a_located_problem(
    tmp_path: Path, stated: str, found: str
) -> None:
    (told,) = problems(tmp_path, ROW.replace("weight: 2500 lb", f"weight: 2500 lb, {stated}"))
    assert "table.yaml:17:" in told
    assert found in told


def test_a_fault_in_a_file_of_shapes_is_told_once_and_not_at_every_cell(tmp_path: Path) -> None:
    text = (shipped_folder("rules") / "law-shapes.yaml").read_text(encoding="utf-8")
    (tmp_path / "shapes.yaml").write_text(text.replace("question: limits", "question: limit", 1))
    (tmp_path / "table.yaml").write_text(HEAD + ROW)
    with pytest.raises(ProblemsFoundError, match="shapes") as found:
        load_rulebooks(tmp_path)
    assert [each.found for each in found.value.problems] == ["'limit'"]


def test_a_row_may_name_a_rule_of_a_table_that_is_read_later(tmp_path: Path) -> None:
    earlier = HEAD.replace("id: own", "id: earlier").replace("trailer brakes\n", "breakaway\n", 1)
    rows = WITHOUT_CELLS.replace(
        "    note: It asks nothing.", "    rules: [us-ut-basin-trailer-brakes]"
    )
    (tmp_path / "earlier.yaml").write_text(earlier + rows)
    tables = read(tmp_path).law_tables
    assert [row.rules for table in tables for row in table.rows] == [
        ("us-ut-basin-trailer-brakes",),
        ("us-ut-basin-trailer-brakes",),
    ]


def test_a_row_names_rules_of_any_rulebook_of_its_place(tmp_path: Path) -> None:
    book = BY_HAND.replace("id: us-ut-basin", "id: basin-by-hand")
    (tmp_path / "book.yaml").write_text(book)
    rows = WITHOUT_CELLS.replace("    note: It asks nothing.", "    rules: [basin-flag]")
    ((row,),) = [table.rows for table in read(tmp_path, rows).law_tables]
    assert row.rules == ("basin-flag",)


def test_a_place_that_no_trip_touches_is_named_and_not_read(tmp_path: Path) -> None:
    whole = only_book(read(tmp_path, with_proofs=True))
    left = only_book(read(tmp_path, trips=Trips.through([["US-CO"]])))
    assert left.rules_not_read
    assert (left.id, left.title, left.digest) == (whole.id, whole.title, whole.digest)


@pytest.mark.parametrize(
    ("old", "new", "found"),
    [
        ('    section: "7-2"\n', "", "16:9: found a cell without 'section'"),
        ("    edition: copy of 2026\n", "", "16:9: found a cell without 'edition'"),
        ("    law: County Code\n", "", "16:9: found a cell without 'law'"),
        ("2500 lb", "25 ft", "17:88: found '25 ft'; wanted a weight or rating"),
        ("2500 lb", "-2500 lb", "17:88: found '-2500 lb'; wanted more than zero"),
        ("weight: 2500 lb, ", "", "17:9: found no 'weight'"),
        ("weight: 2500", "wieght: 2500", "did you mean 'weight'?"),
        ("comparison: from", "comparison: form", "did you mean 'from'?"),
        ("comparison: from, ", "", "found no 'comparison'; wanted `comparison:` over, from"),
        ("brakes-by-weight", "brakes-by-wieght", "did you mean 'brakes-by-weight'?"),
        ("US-UT-BASIN", "US-XX", "10:12: found 'US-XX'; wanted the ISO 3166-2 code"),
        ("US-UT-BASIN", "CA-ON", "10:12: found 'CA-ON'; wanted a part of US"),
        ("text seen", "text read", "12:11: found 'text read'"),
        (f"- {CELL}", f"- {CELL}\n      - {CELL}", "18:9: found a second cell for the rule"),
        (
            "read: text seen",
            "read: text seen\n    rules: [us-ut-other]",
            "13:13: found 'us-ut-other'; wanted a rule of a rulebook of the place",
        ),
        (
            "    law:",
            "    until: 2019-01-01\n    law:",
            "13:12: found `until: 2019-01-01`; wanted after 2020-01-01",
        ),
    ],
)
def test_a_cell_that_cannot_be_a_rule_is_a_located_problem(
    tmp_path: Path, old: str, new: str, found: str
) -> None:
    told = problems(tmp_path, ROW.replace(old, new))
    assert any(found in each for each in told), told


def test_a_must_from_an_unread_text_is_a_problem(tmp_path: Path) -> None:
    rows = ROW.replace("text seen", "from memory").replace("2500 lb", "2500 lb, level: must")
    (told,) = problems(tmp_path, rows)
    assert "17:104: found `level: must` of a text from memory; wanted `level: should`" in told


@pytest.mark.parametrize(
    ("earlier", "later", "at"),
    [
        ("", "", "18:12"),
        ("", "    from: 2022-01-01\n", "18:12"),
        # A day's overlap; a row that ends on the first day of the next is right, as above.
        ("    until: 2022-01-02\n", "    from: 2022-01-01\n", "19:12"),
    ],
)
def test_two_rows_for_one_place_and_day_are_a_problem(
    tmp_path: Path, earlier: str, later: str, at: str
) -> None:
    first, second = (ROW.replace("    law:", f"{days}    law:") for days in (earlier, later))
    told = problems(tmp_path, first + second)
    assert f"{at}: found a second row of US-UT-BASIN for days of the row in line 10" in told[0]


def test_a_slot_that_no_choice_fills_is_a_problem(tmp_path: Path) -> None:
    (tmp_path / "shapes.yaml").write_text("""\
kind: law-shapes
choices:
  comparison: {over: {within: "<="}, from: {within: "<", edge: from}}
shapes:
  - id: own-shape
    rule: own
    title: "[plaice]: [edge] {weight}"
    question: limits
    requires: "trailer.gross_weight [within] weight"
    limits: {weight: {kind: load, stricter: lower}}
    choices: [comparison, measured_by]
    because: It is so here.
    fix: Change it.
    proofs: [{name: at, given: {trailer.gross_weight: "{wieght}"}, expect: met},
      {name: sum, given: {trailer.gross_weight: "{weight} plus 1 lb"}, expect: met}]
""")
    (tmp_path / "table.yaml").write_text(HEAD + ROW)
    with pytest.raises(ProblemsFoundError, match="yaml") as found:
        load_rulebooks(tmp_path, known=shapes(), with_proofs=True)
    told = "\n".join(str(each) for each in found.value.problems)
    assert "shapes.yaml:11:27: found the choice 'measured_by'" in told
    assert "shapes.yaml:7:12: found '[plaice]'; wanted a slot" in told
    assert "shapes.yaml:7:12: found '[edge]'; wanted a slot" in told
    assert "found '{wieght}'; wanted a limit: weight" in told
    assert "found '{weight} plus 1 lb'; wanted a sum such as" in told


def test_a_fault_in_a_shape_is_located_in_the_shape(tmp_path: Path) -> None:
    (tmp_path / "shapes.yaml").write_text("""\
kind: law-shapes
shapes:
  - id: own-shape
    rule: own
    title: "[place]: light"
    question: limits
    requires: "trailer.gros_weight <= weight"
    limits: {weight: {kind: load, stricter: lower}}
    because: It is so here.
    fix: Change it.
    proofs: [{name: at, given: {trailer.gross_weight: "{weight}"}, expect: met}]
""")
    row = ROW.replace(CELL, "{shape: own-shape, weight: 2 lb}")
    told = problems(tmp_path, row)[0]
    assert told.startswith("shapes.yaml:7:15: found")
    assert "did you mean 'trailer.gross_weight'?" in told


BOOK = """\
kind: rulebook
id: us-ut-basin
title: Basin
jurisdiction: {place}
proved_on: 2026-06-01
rules:
  - id: us-ut-basin-own
    title: Own
    question: limits
    requires: trailer.has_brakes
    common_practice: yes
    basis: common practice
    level: should
    because: It is so.
    fix: Change it.
    proofs: [{{name: none, given: {{}}, expect: not stated, origin: hand}}]
"""


def test_the_rules_of_a_row_join_the_rulebook_of_the_place(tmp_path: Path) -> None:
    (tmp_path / "book.yaml").write_text(BOOK.format(place="US-UT-BASIN"))
    named = ROW.replace("    law:", "    rules: [us-ut-basin-own]\n    law:")
    book = only_book(read(tmp_path, named))
    assert [rule.id for rule in book.rules] == ["us-ut-basin-own", "us-ut-basin-trailer-brakes"]
    assert (book.title, book.file[-9:]) == ("Basin", "book.yaml")


def test_a_rulebook_of_another_place_may_not_have_the_id_of_a_row(tmp_path: Path) -> None:
    (tmp_path / "book.yaml").write_text(BOOK.format(place="US-UT"))
    told = problems(tmp_path, ROW)
    assert "10:12: found the rulebook 'us-ut-basin' of US-UT; wanted US-UT-BASIN" in told[0]
