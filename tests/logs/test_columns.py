"""Headers: their fields and units; all problems at once, each with its location."""

import re
from pathlib import Path

import pytest

from checker.documents.problems import ProblemsFoundError
from checker.logs.columns import ColumnError, column_of, data_path, reaches
from checker.logs.model import Role
from checker.logs.opening import open_log


@pytest.mark.parametrize(
    ("header", "field", "role", "unit"),
    [
        ("load", "load", Role.LOAD, None),
        ("date", "date", Role.DATE, None),
        ("crew", "crew", Role.CREW, None),
        ("haul", "haul", Role.HAUL, None),
        ("articles.1.weight", "articles.1.weight", Role.QUANTITY, None),
        ("articles.1.weight [lb]", "articles.1.weight", Role.QUANTITY, "lb"),
        ("articles.12.placed.x(inches)", "articles.12.placed.x", Role.QUANTITY, "in"),
        ("trailer.anchors.front-left.working_load_limit",) * 2 + (Role.QUANTITY, None),
        ("tow_vehicle.seats",) * 2 + (Role.QUANTITY, None),
        ("walkaround.chains_crossed",) * 2 + (Role.ANSWER, None),
        ("tiedowns.1.grade",) * 2 + (Role.WORD, None),
        ("trip.places",) * 2 + (Role.LIST, None),
    ],
)
def test_headers(header: str, field: str, role: Role, unit: str | None) -> None:
    column = column_of(header)
    assert (column.header, column.field, column.role, column.unit) == (header, field, role, unit)


@pytest.mark.parametrize(
    ("header", "said"),
    [
        ("", "found a column without a name"),
        ("colour", "found the column 'colour'; wanted load, date, crew, haul, or a field"),
        ("Load", "did you mean 'load'?"),
        ("weight", "did you mean 'articles.1.weight'?"),
        ("walkaround.chains_crosed", "did you mean 'walkaround.chains_crossed'?"),
        ("trailer.anchors.front-left.wight", "found the column"),
        ("articles.0.weight", "did you mean 'articles.1.weight'?"),
        ("articles.-1.weight", "found the column"),
        ("articles.1", "found 'articles.1', which has fields of its own"),
        ("trailer", "found 'trailer', which has fields of its own"),
        ("trip.date", "did you mean 'date'?"),
        ("kind", "a load profile is always"),
        ("note", "no rule uses notes"),
        ("articles.1.from", "wanted another load profile under load"),
        ("gear.tiedowns.1.count", "no rule uses the gear that a crew carries"),
        ("variances.1.rule", "wanted variances in the load profile"),
        ("articles.1.weight [ft]", "found the unit 'ft' in 'articles.1.weight [ft]'; wanted a"),
        ("articles.1.weight []", "found the unit '' in 'articles.1.weight []'"),
        ("articles.1.weight [ton]", "because a 'ton' has more than one size"),
        ("articles.1.weight [pund]", "did you mean 'articles.1.weight [lb]'?"),
        ("walkaround.chains_crossed [lb]", "wanted no unit here"),
        ("tow_vehicle.seats [lb]", "wanted no unit here"),
        ("load [lb]", "wanted no unit here"),
    ],
)
def test_headers_that_are_none(header: str, said: str) -> None:
    with pytest.raises(ColumnError, match=re.escape(said)):
        column_of(header)


def test_everything_wrong_with_a_header_line_is_told_at_its_place(tmp_path: Path) -> None:
    file = tmp_path / "season.csv"
    file.write_text('load,"Remarks, all",crew,trip.sped,crew\n')
    with pytest.raises(ProblemsFoundError, match="wanted date") as caught:
        open_log(file)
    places = [(each.mark.line, each.mark.column) for each in caught.value.problems]
    # By hand: `load,` ends at 5, the quoted header at 20, `crew,` at 25, `trip.sped,` at 35.
    assert places == [(1, 1), (1, 6), (1, 26), (1, 36)]
    assert caught.value.problems[-1].found == "'crew' for crew, as 'crew' is"


def test_paths_count_entries_from_zero() -> None:
    assert data_path("articles.2.placed.x") == ("articles", 1, "placed", "x")
    # An anchor may be called 1, which is no position.
    assert data_path("trailer.anchors.1.x") == ("trailer", "anchors", "1", "x")


@pytest.mark.parametrize(
    ("field", "reached"),
    [
        ("articles.1.weight", True),
        ("articles.2.weight", False),
        ("trailer.anchors.left.x", True),
        ("trailer.anchors.lfet.x", False),
        ("tow_vehicle.seats", True),
        ("tiedowns.1.grade", False),
    ],
)
def test_a_field_is_reached_where_its_entry_is_there(field: str, *, reached: bool) -> None:
    data = {"articles": [{"title": "mower"}], "trailer": {"anchors": {"left": {}}}}
    assert reaches(field, data) is reached
