"""Haul logs: each row is a haul or refused with the reason; nothing is dropped."""

from datetime import date
from pathlib import Path

import pytest

from checker.documents.problems import ProblemsFoundError
from checker.documents.resources import shipped_folder
from checker.logs.model import Refused
from checker.logs.opening import open_log
from checker.rulebooks.model import Rulebooks
from checker.season.hauls.hauls import Haul, read_hauls
from checker.season.hauls.loads import Loads

LB = 4.4482216152605  # N, exact
HEAD = "load,date,articles.1.weight,walkaround.chains_crossed,trip.speed\n"
GOOD = "side-by-side-in-order,2026-07-02,,,\n"


def found(name: str) -> Path:
    path = shipped_folder("profiles") / "loads" / f"{name}.yaml"
    if not path.is_file():
        message = f"found no load profile '{name}'"
        raise FileNotFoundError(message)
    return path


def hauls(tmp_path: Path, text: str) -> list[Haul | Refused]:
    log = tmp_path / "season.csv"
    log.write_bytes(text.encode())
    return read_hauls(open_log(log), Loads(found, None, [Rulebooks((), ())]))


def test_a_row_lays_its_cells_over_the_load(tmp_path: Path) -> None:
    rows = "side-by-side-in-order,2026-07-03,1500 lb,no,45 mph\n"
    plain, changed = hauls(tmp_path, HEAD + GOOD + rows)
    assert isinstance(plain, Haul)
    assert isinstance(changed, Haul)
    assert (plain.row, plain.on, changed.row) == (2, date(2026, 7, 2), 3)
    before, after = plain.profile.load({}), changed.profile.load({})
    assert before.articles[0].weight == pytest.approx(1420 * LB)
    assert after.articles[0].weight == pytest.approx(1500 * LB)
    assert (before.walkaround.chains_crossed, after.walkaround.chains_crossed) == (1.0, 0.0)
    assert str(after.file) == f"{tmp_path / 'season.csv'}#3"


@pytest.mark.parametrize(
    ("row", "said"),
    [
        ("side-by-side-in-ordr,2026-07-02,,,", "found no load profile 'side-by-side-in-ordr'"),
        ("side-by-side-in-order,July,,,", "found 'July' in date; wanted a day"),
        ("side-by-side-in-order,0026-07-02,,,", "found '0026-07-02' in date; wanted a day"),
        ("side-by-side-in-order,9999-12-31,,,", "wanted a day from 1970 to 2099"),
        ("side-by-side-in-order,2026-07-02,1500,,", "did you mean '1500 lb'?"),
        ("side-by-side-in-order,2026-07-02,,perhaps,", "wanted one of: yes, no"),
        ("side-by-side-in-order,2026-07-02,", "found more or fewer cells than columns"),
        ("side-by-side-in-order,2026-07-02,,,,,", "found more or fewer cells than columns"),
        (
            "side-by-side-in-order,2026-07-02,0 lb,maybe,",
            "articles.1.weight: found '0 lb'; wanted more than zero; walkaround.chains_crossed: ",
        ),
    ],
)
def test_a_row_that_cannot_be_judged_is_refused_and_the_rest_goes_on(
    tmp_path: Path, row: str, said: str
) -> None:
    first, second, third = hauls(tmp_path, HEAD + GOOD + row + "\n" + GOOD)
    assert isinstance(second, Refused)
    assert second.row == 3
    assert said in second.reason
    assert isinstance(first, Haul)
    assert isinstance(third, Haul)


@pytest.mark.parametrize(
    "column", ["articles.9.weight", "trailer.anchors.front-lft.working_load_limit"]
)
def test_a_column_that_leads_nowhere_in_its_load_refuses_the_row(
    tmp_path: Path, column: str
) -> None:
    text = f"load,date,{column}\nside-by-side-in-order,2026-07-02,900 lb\n"
    blank, row = hauls(tmp_path, text.replace("\n", "\nside-by-side-in-order,2026-07-01,\n", 1))
    assert isinstance(blank, Haul)
    assert isinstance(row, Refused)
    assert (
        row.reason
        == f"{column}: found a column for a field that this load does not have; wanted one of "
        + ("its fields")
    )


@pytest.mark.parametrize(
    ("column", "cell", "said"),
    [
        ("tiedowns.1.anchor", "front-lft", "found 'front-lft'; wanted an anchor named in this"),
        ("trailer.empty_tongue_weight", "950 lb", "found an empty tongue heavier than the empty"),
    ],
)
def test_a_cell_must_agree_with_the_rest_of_its_load(
    tmp_path: Path, column: str, cell: str, said: str
) -> None:
    text = f"load,date,{column}\nside-by-side-in-order,2026-07-02,{cell}\n"
    (row,) = hauls(tmp_path, text)
    assert isinstance(row, Refused)
    assert row.reason.startswith(said)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("load,crew\n", "wanted date"),
        ("load,date,colour\n", ":1:11: found the column 'colour'"),
        ("load,date,walkaround.chains_crosed\n", "did you mean 'walkaround.chains_crossed'?"),
        ("", "wanted load and date"),
        (HEAD + '"side\n', "a quote that is not closed"),
    ],
)
def test_a_file_that_is_no_log_is_told(tmp_path: Path, text: str, said: str) -> None:
    with pytest.raises(ProblemsFoundError, match="found") as caught:
        hauls(tmp_path, text)
    assert said in str(caught.value)


def test_a_byte_order_mark_and_windows_lines_are_read(tmp_path: Path) -> None:
    (row,) = hauls(tmp_path, "\ufeff" + (HEAD + GOOD).replace("\n", "\r\n"))
    assert isinstance(row, Haul)
