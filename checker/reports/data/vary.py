"""How one number of a load changes the verdicts, as a document."""

from typing import Final

from msgspec import Struct, field

from checker.advice.vary import Varied
from checker.reports.shared.json_document import record_document
from checker.reports.shared.records import RuleName, rule_name
from checker.rulebooks.verdicts import Verdict
from checker.units.kinds import BASE_UNITS

KIND: Final = "variation"


class TurnAt(Struct, frozen=True):
    """A rule whose verdict changes."""

    value: float
    """Last value with the verdict before; just above it begins the verdict after."""
    rule: RuleName
    """The rule."""
    before: Verdict
    """Verdict up to the value."""
    after: Verdict
    """Verdict just above it."""


class Document(Struct, frozen=True):
    """Every change of a verdict as one number of a load grows."""

    varied: str = field(name="field")
    """The field that is varied."""
    unit: str | None
    """SI unit of its values; null for shares and counts."""
    low: float = field(name="from")
    """Least value tried."""
    high: float = field(name="to")
    """Greatest value tried."""
    changes: tuple[TurnAt, ...]
    """The changes, by value."""
    never_met: tuple[RuleName, ...]
    """Must-rules that are met at no value tried."""


def document(varied: Varied) -> str:
    """The changes of verdict as a document."""
    return record_document(
        KIND,
        Document(
            varied=varied.field,
            unit=BASE_UNITS.get(varied.kind),
            low=float(varied.values[0]),
            high=float(varied.values[-1]),
            changes=tuple(
                TurnAt(each.value, rule_name(each.rule), each.before, each.after)
                for each in varied.changes
            ),
            never_met=tuple(map(rule_name, varied.never_met)),
        ),
    )
