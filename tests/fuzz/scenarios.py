"""Calls on the project as it stands, with the exit code each ends with and the files it needs."""

from collections.abc import Sequence
from dataclasses import dataclass

from checker.cli.audit_reports import FORMS as AUDIT_FORMS
from checker.cli.check_reports import FORMS as CHECK_FORMS
from tests.fuzz import project as at

_RESTED_ON = (at.TRAILER, at.TOW_VEHICLE, at.MACHINE, at.TIEDOWN, at.CARRIER, at.GEAR)
_LOAD = (at.HELD, at.HELD, *_RESTED_ON)
_RULES = (at.BOOK, at.SOURCES, at.SETTINGS)
_OWN = ("--rules", "crew-rules")
NEW_LOAD = "profiles/loads/new.yaml"
"""Where an arrangement is written: a call that is refused leaves no file there."""


@dataclass(frozen=True)
class Scenario:
    """A call, its exit code, and the files without which it cannot end so.

    With `policy`, the board's amendment is in force, under which no load may leave. With
    `committed`, all files stood in git as they are but for the load that is held, which was in
    order then. `weight` is how often it is drawn.
    """

    words: tuple[str, ...]
    outcome: int
    targets: Sequence[str]
    weight: int = 2
    policy: bool = False
    committed: bool = False


def _written(*words: str, forms: Sequence[str] = CHECK_FORMS) -> tuple[str, ...]:
    return (*words, "--write", ",".join(f"{form}=out.{form}" for form in forms))


def _audits() -> list[Scenario]:
    found = [Scenario(("audit", log), 1, (log, log, log, at.HELD), 7) for log in at.LOGS.values()]
    found += [
        Scenario(("audit", at.HAULS), 1, (at.A_HAUL, at.A_HAUL, at.HELD), 5),
        Scenario(
            ("audit", at.OFFICERS_LOG, "--columns", at.MAPPING),
            1,
            (at.OFFICERS_LOG, at.MAPPING, at.MAPPING),
            6,
        ),
        *(
            Scenario(("audit", log, "--as", "json"), 1, (log, at.HELD), 1)
            for log in at.LOGS.values()
        ),
        Scenario(
            _written("audit", at.LOGS[".csv"], forms=AUDIT_FORMS),
            1,
            (at.LOGS[".csv"], at.HELD),
            1,
        ),
        Scenario(
            ("audit", at.LOGS[".csv"], "--findings", "out.jsonl"), 1, (at.LOGS[".csv"], at.HELD), 1
        ),
        Scenario(("audit", at.LOGS[".csv"], "--compare", at.EARLIER), 1, (at.EARLIER,), 5),
    ]
    return found


def _checks() -> list[Scenario]:
    return [
        Scenario(("check", at.HELD), 1, (*_LOAD, *_RULES), 14),
        Scenario(("check", "profiles"), 1, _LOAD, 10),
        Scenario(("check",), 1, (*_LOAD, at.SETTINGS), 5),
        Scenario(("check", "profiles/loads/*.yaml"), 1, _LOAD),
        Scenario(
            ("check", at.HELD, *_OWN), 1, (at.BOOK, at.SOURCES, at.TABLE, at.LAW, at.SHAPES), 8
        ),
        *(Scenario(("check", f"{log}#a-1"), 1, (log, log, at.HELD), 1) for log in at.LOGS.values()),
        Scenario(
            ("check", f"{at.OFFICERS_LOG}#3", "--columns", at.MAPPING),
            1,
            (at.OFFICERS_LOG, at.MAPPING),
            1,
        ),
        Scenario(("check", at.GOOD), 1, (at.POLICY, at.POLICY, at.SETTINGS), 10, policy=True),
        Scenario(("check", "profiles/loads"), 1, (at.POLICY, at.SETTINGS, at.HELD), 5, policy=True),
        Scenario(("check", at.HELD, "--as", "json"), 1, _LOAD, 4),
        *(Scenario(("check", at.trial(name)), 1, (at.trial(name),), 3) for name in at.TRIALS),
        Scenario(_written("check", at.HELD), 1, _LOAD, 3),
        *(
            Scenario(("check", "profiles", "--write", f"{form}=-"), 1, _LOAD, 1)
            for form in CHECK_FORMS
            if form != "html"
        ),
        Scenario(
            ("check", "profiles", "--changed-since", "HEAD"),
            1,
            (at.HELD, at.MACHINE, at.SETTINGS),
            2,
            committed=True,
        ),
    ]


def _advice() -> list[Scenario]:
    speed = ("vary", at.HELD, "articles.1.weight")
    return [
        Scenario(("place", at.HELD), 0, _LOAD),
        Scenario((*speed, "1000 lb..3000 lb"), 0, _LOAD),
        Scenario(("explain", at.HELD, "crew-strength"), 1, (*_LOAD, at.BOOK)),
        Scenario(
            ("impact", "policy", "--over", at.GOOD),
            1,
            (at.POLICY, at.POLICY, at.GOOD),
            5,
            policy=True,
        ),
        Scenario(
            ("impact", "policy", "--over", at.LOGS[".csv"]),
            1,
            (at.POLICY, at.LOGS[".csv"]),
            2,
            policy=True,
        ),
        Scenario(
            ("impact", "policy", "--over", "profiles", "--as", "json"),
            1,
            (at.POLICY, at.GOOD),
            1,
            policy=True,
        ),
        Scenario(
            ("impact", "--against", "HEAD", "--over", at.HELD, "--rules", "crew-rules"),
            0,
            (at.BOOK, at.HELD),
            1,
            committed=True,
        ),
    ]


def _arrangements() -> list[Scenario]:
    """Open, as no rulebook in use holds the federal law; written to a new file or not at all."""
    rig = (at.GOOD, at.GOOD, at.GEAR, at.GEAR, at.CARRIER)
    new = ("--write-load", NEW_LOAD)
    chart = ("--over", at.MACHINE, "--trailer", at.TRAILER)
    return [
        Scenario(("arrange", at.GOOD, *new), 3, rig, 3),
        Scenario(("arrange", at.HELD, *_OWN), 3, (*_LOAD, at.BOOK), 2),
        Scenario(("arrange", at.HELD, "--gear", at.GEAR, "--as", "json"), 3, (at.HELD, at.GEAR), 2),
        Scenario(("arrange", at.GOOD, *chart), 3, (at.MACHINE, at.TRAILER, at.GEAR, at.GOOD), 2),
    ]


def _rules() -> list[Scenario]:
    book = (at.BOOK, at.SOURCES, at.TABLE, at.COVERAGE, at.LAW, at.SHAPES)
    read = ("sources", "crew-handbook", "--read-on", "2026-07-01", "--by", "A")
    amended = ("amend", "crew-speed", "most", "45 mph", "--from", "2027-01-01", "--common-practice")
    return [
        Scenario(("rules", *_OWN), 0, book, 3),
        Scenario(("rule", "crew-speed", *_OWN), 0, book),
        Scenario(("history", "crew-speed", *_OWN), 0, book),
        Scenario(("rulebooks", *_OWN), 0, book, 3),
        Scenario(("prove", *_OWN), 0, book, 2),
        Scenario(("coverage", "fr", *_OWN), 0, (at.COVERAGE, at.BOOK)),
        Scenario(("coverage", "de", "--rules", "shipped"), 3, (), 1),
        Scenario(("places", *_OWN), 0, book),
        Scenario(("places", "FR", *_OWN), 0, book),
        Scenario(("sources", *_OWN), 0, book),
        Scenario((*read, "--into", at.SOURCES), 0, (at.SOURCES, at.BOOK), 2),
        Scenario(
            (*amended, "--into", at.POLICY), 0, (at.POLICY, at.BOOK, at.SETTINGS), 3, policy=True
        ),
        Scenario((*amended, "--into", "policy/new.yaml", "--dry-run"), 0, (at.BOOK,), 1),
        Scenario(("variances", *_OWN), 0, book, 1),
        Scenario(("calendar", *_OWN, "--as", "ics"), 0, book, 1),
        Scenario(("settings",), 0, (at.SETTINGS,), 2),
        Scenario(("schema", "load"), 0, (), 1),
        Scenario(("facts", "tongue"), 0, (), 1),
        Scenario(("draft", "trailer", "new.yaml"), 0, (), 1),
        Scenario(("draft", "load"), 0, (), 1),
        Scenario(("draft", "ratings", "new.yaml"), 0, (), 1),
        Scenario(("draft", "project", "crew"), 0, (), 1),
        Scenario(("invent", "new.csv", "--hauls", "30"), 0, (), 1),
        Scenario(
            ("invent", "new.jsonl", "--hauls", "9", "--over", "profiles/loads"), 0, (at.HELD,), 1
        ),
    ]


SCENARIOS = [*_checks(), *_audits(), *_advice(), *_rules(), *_arrangements()]

DOCUMENTED: dict[str, frozenset[int]] = {
    "check": frozenset({0, 1, 2, 3}),
    "audit": frozenset({0, 1, 2, 3}),
    "explain": frozenset({0, 1, 2, 3}),
    "impact": frozenset({0, 1, 2, 3}),
    "arrange": frozenset({0, 1, 2, 3}),
    "rulebooks": frozenset({0, 1, 2}),
    "prove": frozenset({0, 1, 2}),
    "coverage": frozenset({0, 1, 2, 3}),
}
"""The exit codes of the help texts, 130 excepted, which is for Ctrl-C; all others end in 0 or 2."""
