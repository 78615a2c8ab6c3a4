"""Names of a log that a person may have meant as one, and haul numbers that are used twice."""

from pathlib import Path

import pytest

from checker.logs.opening import open_log
from checker.season.audit import Audit, audit
from checker.season.hauls.digests import digest_of_log
from checker.season.running.worker import Plan
from checker.season.slips import haul_numbers
from checker.season.slips.alike_names import Seen, alike_names, same_to_the_eye
from checker.season.slips.haul_numbers import HaulNumbers, RepeatedNumber, RepeatedNumbers
from checker.season.totals import Totals
from tests.season.quick import quick_rules

LOG = """\
load,date,crew,haul,trailer.id
loads/mower-in-order,2026-05-14,north,H-1,T 7
loads/mower-in-order.yaml,2026-05-14,North,H-2,t7
profiles/loads/../loads/mower-in-order.yaml,2026-05-14,south,H-1,
loads/mower-in-order,2026-05-15,NORTH,H-3,
loads/side-by-side-in-order,2026-05-15,,h-3,T 8
loads/side-by-side-in-order,soon,north,H-2,
loads/mower-in-order,2026-05-16,south,,
"""


def found(name: str) -> Path:
    file = Path("profiles", name.removeprefix("profiles/"))
    return file if file.suffix else file.with_name(f"{file.name}.yaml")


@pytest.fixture(scope="module")
def done(tmp_path_factory: pytest.TempPathFactory) -> Audit:
    log = tmp_path_factory.mktemp("log") / "hauls.csv"
    log.write_text(LOG)
    plan = Plan(lambda _: quick_rules(), ("shipped",), found, None, 0.05)
    return audit(open_log(log), plan, digest_of_log(log))


def test_a_load_is_one_however_the_log_writes_it(done: Audit) -> None:
    by = done.totals.by["load"]
    assert {key: tally.hauls for key, tally in by.items()} == {
        "loads/mower-in-order": 5,
        "loads/side-by-side-in-order": 1,
    }


def test_names_that_are_alike_are_pointed_out_with_their_hauls_and_first_rows(done: Audit) -> None:
    alike = {
        each.kind: each.names for each in alike_names(done.totals.names, done.totals.keys_of_loads)
    }
    # By hand; the refused row 7 counts nowhere.
    assert alike == {
        "load": (
            ("loads/mower-in-order", Seen(3, 2)),
            ("loads/mower-in-order.yaml", Seen(1, 3)),
            ("profiles/loads/../loads/mower-in-order.yaml", Seen(1, 4)),
        ),
        "trailer": (("T 7", Seen(1, 2)), ("t7", Seen(1, 3))),
        "crew": (("north", Seen(1, 2)), ("North", Seen(1, 3)), ("NORTH", Seen(1, 5))),
    }
    # Crews are not made one in silence.
    assert {"north", "North", "NORTH", "south", ""} == set(done.totals.by["crew"])


def test_haul_numbers_used_twice_are_found_in_refused_rows_too(done: Audit) -> None:
    assert done.repeated == RepeatedNumbers(
        2, 4, (RepeatedNumber("H-1", 2, (2, 4)), RepeatedNumber("H-2", 2, (3, 7)))
    )


@pytest.mark.parametrize(
    ("one", "other", "alike"),
    [
        ("Dry Fork", "dry  fork ", True),
        ("Dry Fork", "dryfork", True),
        # One letter stored in two ways, and a space that does not break.
        ("Se\u0301verine", "S\u00e9verine", True),
        ("Dry Fork", "Dry\u00a0Fork", True),
        ("Dry Fork", "Dry Fork 2", False),
    ],
)
def test_what_a_person_does_not_see(one: str, other: str, alike: bool) -> None:
    assert (same_to_the_eye(one) == same_to_the_eye(other)) is alike


def test_names_add_up_in_any_order() -> None:
    parts = [{"a": Seen(2, 9)}, {"a": Seen(1, 4), "b": Seen(1, 5)}]
    for order in (parts, parts[::-1]):
        totals = Totals()
        for names in order:
            totals.add(
                Totals(
                    names={
                        "crew": {
                            name: Seen(each.hauls, each.first_row) for name, each in names.items()
                        }
                    }
                )
            )
        assert totals.names == {"crew": {"a": Seen(3, 4), "b": Seen(1, 5)}}


def test_more_numbers_than_are_listed_are_counted(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(haul_numbers, "MOST_LISTED", 2)
    monkeypatch.setattr(haul_numbers, "MOST_ROWS", 2)
    parts = [{2: "c", 3: "a", 4: "b"}, {5: "a", 7: "a"}, {}, {9: "b", 10: "c", 11: "d"}]
    numbers = HaulNumbers()
    for part in parts:
        numbers.add(part.values())
    # c is used in rows 2 and 10, a in 3, 5 and 7, b in 4 and 9.
    assert numbers.repeated(parts.__getitem__) == RepeatedNumbers(
        3, 7, (RepeatedNumber("c", 2, (2, 10)), RepeatedNumber("a", 3, (3, 5)))
    )
    assert HaulNumbers().repeated(parts.__getitem__) == RepeatedNumbers()
