"""Everything that is wrong with valid rule files, as problems at their lines."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date

from msgspec.structs import replace

from checker.documents.problems import Problem
from checker.rulebooks.citations import Location
from checker.rulebooks.model import Rulebook, Rulebooks
from checker.rulebooks.unreachable import unreachable
from checker.upkeep.bundled_law import less_strict_than_bundled
from checker.upkeep.directions import wrong_directions
from checker.upkeep.proving import Proved, prove
from checker.upkeep.released import ReleasedIds
from checker.upkeep.sources import documents

Told = Callable[[Rulebook], None]


@dataclass(frozen=True, slots=True)
class RuleFileCheck:
    """The problems found, and how much was checked. Warnings are sources due for another look."""

    faults: tuple[Problem, ...]
    warnings: tuple[Problem, ...]
    unreleased: tuple[str, ...]
    """Ids of rules that the list beside them lacks so far; not a fault."""
    rulebooks: int
    rules: int
    tables: int
    amendments: int
    sources: int
    proofs: int


def check_everything(
    rulebooks: Rulebooks,
    released: Sequence[ReleasedIds],
    on: date,
    report_progress: Told,
    *,
    bundled: Rulebooks | None = None,
) -> RuleFileCheck:
    """The problems of rulebooks loaded with their proofs.

    `report_progress` is called for each rulebook once it is proved. Lists of released ids are
    compared with these rulebooks' ids; a list covers only the rules whose files lie beside it.
    `bundled` are the rules that copies among the rulebooks must be no less strict than.
    """
    rules = [rule for book in rulebooks.books for rule in book.rules]
    scopes = [book.scope for book in rulebooks.books if book.scope]
    proved = [prove(replace(rulebooks, books=(), tables=(table,))) for table in rulebooks.tables]
    for book in rulebooks.books:
        proved.append(prove(replace(rulebooks, books=(book,), tables=())))
        report_progress(book)
    faults = [problem for each in proved for problem in _not_proved(each)]
    for rule in (*rules, *scopes):
        if unreachable(rule):
            assert rule.when is not None
            found = f"a `when` of {rule.id} that no facts make true: `{rule.when.text.strip()}`"
            wanted = "a condition that some load meets"
            faults.append(_problem(rule.location, found, wanted))
    if bundled is not None:
        faults += less_strict_than_bundled(rulebooks, bundled)
    faults += [
        _problem(each.location, f"{each.found} in {each.rule}", each.wanted)
        for each in wrong_directions(rulebooks)
    ]
    ids = [rule.id for rule in rules]
    unreleased: list[str] = []
    for listed in released:
        faults += listed.faults(ids)
        folder = listed.file.rpartition("/")[0]
        unreleased += [
            rule.id
            for rule in rules
            if rule.location.file.startswith(f"{folder}/" if folder else "")
            and rule.id not in listed.titles
        ]
    return RuleFileCheck(
        faults=_in_order(faults),
        warnings=_in_order(_old_sources(rulebooks, on)),
        unreleased=tuple(sorted(unreleased)),
        rulebooks=len(rulebooks.books),
        rules=len(rules),
        tables=len(rulebooks.tables),
        amendments=len(rulebooks.amendments),
        sources=len(rulebooks.sources),
        proofs=sum(each.proofs for each in proved),
    )


def _in_order(problems: Sequence[Problem]) -> tuple[Problem, ...]:
    return tuple(sorted(problems, key=lambda each: (each.file, each.mark, each.found)))


def _problem(location: Location, found: str, wanted: str) -> Problem:
    return Problem(location.file, location.mark, found, wanted)


def _old_sources(rulebooks: Rulebooks, on: date) -> list[Problem]:
    """Sources whose day for another look is past; on the day itself they are not late."""
    return [
        _problem(
            each.due_at,
            f"the source '{each.source.id}', to be reviewed by {each.look_again}",
            "its newest edition read again, and a later day: see `cinchbook sources "
            f"{each.source.id}`",
        )
        for each in documents(rulebooks, on)
        if each.due_at and each.is_overdue
    ]


def _not_proved(proved: Proved) -> list[Problem]:
    failing = [
        _problem(
            each.location,
            f"{each.found} in the proof '{each.proof}' of {each.rule}",
            f"{each.expected}, as the proof expects",
        )
        for each in proved.failures
    ]
    unnoticed = [
        _problem(
            each.location,
            f"a change of {each.rule} that no proof notices: {each.change}",
            "a proof that this change would fail",
        )
        for each in proved.unnoticed
    ]
    idle = [
        _problem(
            each.location,
            f"an idle fact in {each.rule}: {each.change}",
            "a proof that the fact decides",
        )
        for each in proved.idle
    ]
    return [*failing, *unnoticed, *idle]
