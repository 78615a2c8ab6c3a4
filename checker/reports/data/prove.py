"""What the proofs of rules show, as a document."""

from collections.abc import Sequence
from typing import Final

from msgspec import Struct

from checker.reports.shared.json_document import record_document
from checker.reports.shared.portable_paths import located
from checker.upkeep.directions import WrongDirection
from checker.upkeep.proving import Proved, Unnoticed

KIND: Final = "proofs"


class FailingProof(Struct, frozen=True):
    """A proof that does not show what it expects."""

    rule: str
    """Id of the rule or table."""
    proof: str
    """Name of the proof."""
    expected: str
    """What the proof expects."""
    found: str
    """What came out."""
    at: str
    """File and line."""


class UnnoticedChange(Struct, frozen=True):
    """A change of a rule that no proof notices."""

    rule: str
    """Id of the rule or table."""
    change: str
    """The change, in words."""
    at: str
    """File and line."""


class DirectionFault(Struct, frozen=True):
    """A figure that gets stricter the other way than it says."""

    rule: str
    """Id of the rule."""
    threshold: str
    """Name of the figure."""
    stated: str
    """The way that the rule file states."""
    shown: str
    """The way that the proofs or the formula show."""
    at: str
    """File and line."""


class Document(Struct, frozen=True):
    """What the proofs of rules show, and which changes none of them notices."""

    proved: bool
    """True if every proof holds, every change is noticed, and nothing else was found."""
    rules: int
    """Number of rules and tables."""
    proofs: int
    """Number of proofs."""
    nudges: int
    """Number of changes tried."""
    failing: tuple[FailingProof, ...]
    """Proofs that fail."""
    unnoticed: tuple[UnnoticedChange, ...]
    """Changes that no proof notices."""
    idle: tuple[UnnoticedChange, ...]
    """Facts that decide nothing in any proof."""
    wrong_directions: tuple[DirectionFault, ...]
    """Figures whose stated direction is wrong."""


def document(result: Proved, backwards: Sequence[WrongDirection]) -> str:
    """The result as a document."""
    return record_document(
        KIND,
        Document(
            proved=result.proved and not backwards,
            rules=result.rules,
            proofs=result.proofs,
            nudges=result.nudges,
            failing=tuple(
                FailingProof(
                    each.rule, each.proof, each.expected, each.found, located(each.location)
                )
                for each in result.failures
            ),
            unnoticed=tuple(map(_unnoticed, result.unnoticed)),
            idle=tuple(map(_unnoticed, result.idle)),
            wrong_directions=tuple(
                DirectionFault(
                    each.rule, each.threshold, each.stated, each.shown, located(each.location)
                )
                for each in backwards
            ),
        ),
    )


def _unnoticed(each: Unnoticed) -> UnnoticedChange:
    return UnnoticedChange(each.rule, each.change, located(each.location))
