"""Mapping files: headers, dates and words of a particular log."""

from datetime import date
from pathlib import Path

import pytest

from checker.documents.problems import ProblemsFoundError
from checker.logs.mapping import read_mapping
from checker.logs.opening import open_log
from tests.season.one_by_one import settled

GOOD = """\
kind: haul-log
columns:
  Plan: load
  Day: date
  Machine weight: {field: articles.1.weight, unit: lb}
  Speed: trip.speed [mph]
  Chains crossed: walkaround.chains_crossed
ignore: [Remarks]
dates: "%m/%d/%Y"
answers: {Y: yes, N: no}
words:
  Plan: {SxS: loads/side-by-side-in-order}
  tiedowns.1.grade: {G70: "70"}
"""
LOG = """\
Plan,Day,Machine weight,Speed,Chains crossed,Remarks,tiedowns.1.grade
SxS,7/2/2026,1500,45,Y,fine,G70
loads/mower-in-order,07/03/2026,,,no,,
SxS,2026-07-03,1500,45,Y,,
"""


def mapping(folder: Path, text: str) -> Path:
    file = folder / "mapping.yaml"
    file.write_text(text)
    return file


def test_a_log_in_an_officers_words(tmp_path: Path) -> None:
    (tmp_path / "season.csv").write_text(LOG)
    (batch,) = settled(open_log(tmp_path / "season.csv", read_mapping(mapping(tmp_path, GOOD))))
    assert {column.field: (column.header, column.unit) for column in batch.columns} == {
        "load": ("Plan", None),
        "date": ("Day", None),
        "articles.1.weight": ("Machine weight", "lb"),
        "trip.speed": ("Speed", "mph"),
        "walkaround.chains_crossed": ("Chains crossed", None),
        "tiedowns.1.grade": ("tiedowns.1.grade", None),
    }
    assert batch.cells == {
        "load": ["loads/side-by-side-in-order", "loads/mower-in-order"],
        "date": [date(2026, 7, 2), date(2026, 7, 3)],
        "articles.1.weight": ["1500", None],
        "trip.speed": ["45", None],
        "walkaround.chains_crossed": ["yes", "no"],
        "tiedowns.1.grade": ["70", None],
    }
    (bad,) = batch.refused
    assert (bad.row, bad.reason) == (
        4,
        "found '2026-07-03' in date; wanted a day such as 05/14/2026",
    )


def test_a_header_near_the_mappings_is_suggested(tmp_path: Path) -> None:
    (tmp_path / "season.csv").write_text(LOG.replace("Machine weight", "Machine wieght"))
    own = read_mapping(mapping(tmp_path, GOOD))
    with pytest.raises(ProblemsFoundError, match=r"season\.csv:1:10: .*mean 'Machine weight'\?"):
        open_log(tmp_path / "season.csv", own)


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("unit: lb", "unit: mph", "5:52: found the unit 'mph' in 'Machine weight'; wanted a"),
        ("trip.speed [mph]", "trip.sped", "6:10: found the column 'trip.sped'"),
        ("trip.speed [mph]", "load", "6:10: found load for 'Speed' and 'Plan'; wanted each"),
        ("[Remarks]", "[Day]", "8:10: found 'Day', which `columns:` gives a field"),
        ("%m/%d/%Y", "%m/%d", "9:8: found '%m/%d'; wanted a format with year, month"),
        ("%m/%d/%Y", "%Q", "9:8: found '%Q'; wanted a format"),
        ("%m/%d/%Y", "%d", "9:8: found '%d'; wanted a format"),
        # What Python reads by an expression in which each part may have one place only.
        ("%m/%d/%Y", "%m/%d/%m/%Y", "9:8: found '%m/%d/%m/%Y'; wanted a format"),
        # A year filled up to so many figures as no memory holds.
        ("%m/%d/%Y", "%9999999999Y", "9:8: found '%9999999999Y'; wanted a format"),
        ("%m/%d/%Y", "%m/%d/%Y%", "9:8: found '%m/%d/%Y%'; wanted a format"),
        ("%m/%d/%Y", "(?P<Y>%Y", "9:8: found '(?P<Y>%Y'; wanted a format"),
        ("Y: yes", "Y: oui", "10:14: found 'oui'; wanted one of: yes, no"),
        ("Plan: {SxS", "Plann: {SxS", "12:3: found 'Plann'; wanted a header under `columns:`"),
        ('"70"', '"71"', "13:27: found '71'; wanted one of: none, 30, 43, 70"),
        ("ignore:", "ignored:", "8:1: found the key 'ignored'"),
    ],
)
def test_what_is_wrong_with_a_mapping_is_told_at_its_place(
    tmp_path: Path, old: str, new: str, said: str
) -> None:
    text = GOOD.replace(old, new)
    assert text != GOOD
    with pytest.raises(ProblemsFoundError, match="found") as caught:
        read_mapping(mapping(tmp_path, text))
    assert f"mapping.yaml:{said}" in str(caught.value)


def test_a_blank_is_no_word(tmp_path: Path) -> None:
    own = read_mapping(mapping(tmp_path, "kind: haul-log\nwords:\n  crew: {None: north}\n"))
    (tmp_path / "season.csv").write_text("load,date,crew\na,2026-07-02,\na,2026-07-02,None\n")
    (batch,) = settled(open_log(tmp_path / "season.csv", own))
    assert batch.cells["crew"] == [None, "north"]
