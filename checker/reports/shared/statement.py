"""What a statement of an audit has beside the counts: the sample with its evidence, who signs."""

import hashlib
from collections.abc import Iterator, Sequence
from datetime import date
from fractions import Fraction
from pathlib import Path

from msgspec import Struct

from checker.documents.files import is_folder, read_blocks
from checker.evaluation.check import Check
from checker.evaluation.finding import Finding
from checker.evaluation.tolerances import check_profile
from checker.load.model import LogRow
from checker.reports.shared.comparison_words import found_and_wanted
from checker.reports.shared.words import subject_that_decides
from checker.reports.shared.written_units import system_of
from checker.rulebooks.model import Rulebooks
from checker.rulebooks.verdicts import Verdict
from checker.season.hauls.hauls import Haul
from checker.season.records.sampling import SampleRequest
from checker.units.formatting import System, Units

DEFAULT_SAMPLE = SampleRequest(Fraction(95, 100), Fraction(5, 100))


class Signatory(Struct, frozen=True):
    """Who signs, as printed; what is empty is a line to fill in by hand."""

    name: str = ""
    role: str = ""
    day: str = ""


NOT_YET_SIGNED = (Signatory(), Signatory())
"""Lines for two people, where nobody is named."""


class BrokenRule(Struct, frozen=True):
    """A rule that a sampled haul does not meet; `found` and `wanted` are empty for answers."""

    rule: str
    level: str
    statement: str
    found: str
    wanted: str
    excused: bool


class SampledHaul(Struct, frozen=True):
    """A haul of the sample with its outcome and every rule that it does not meet."""

    row: LogRow
    day: date
    trailer: str
    """Its key, as in `identity.py`."""
    outcome: str
    broken: tuple[BrokenRule, ...]
    undecided: int
    """How many must-rules are not decided."""


class StatementDetails(Struct, frozen=True):
    """The sample and all else that only a statement has.

    `first` and `last` are the days of the rows that state one. `sha256` is of the log's bytes;
    empty for a folder. `mapping` is the file that maps the log's columns, with its SHA-256.
    """

    request: SampleRequest = DEFAULT_SAMPLE
    seed: str = ""
    hauls: Sequence[SampledHaul] = ()
    first: date | None = None
    last: date | None = None
    sha256: str = ""
    mapping: tuple[str, str] | None = None
    signed: Sequence[Signatory] = NOT_YET_SIGNED


def sampled_haul(haul: Haul, rulebooks: Rulebooks, units: Units) -> SampledHaul:
    """The evidence of a haul, checked by itself."""
    check = check_profile(haul.profile, rulebooks, haul.on)
    musts = [each for each in check.findings if each.rule.level == "must"]
    undecided = (Verdict.NOT_STATED, Verdict.TOO_CLOSE)
    assert check.load.log_row is not None, "it is a haul of a log"
    return SampledHaul(
        row=check.load.log_row,
        day=haul.on,
        trailer=haul.labels.trailer,
        outcome=check.outcome,
        broken=tuple(_broken(check, system_of(check.load, units))),
        undecided=sum(each.verdict in undecided and not each.variance for each in musts),
    )


def _broken(check: Check, system: System) -> Iterator[BrokenRule]:
    found = [each for each in check.findings if each.verdict is Verdict.NOT_MET]
    for each in sorted(found, key=lambda finding: finding.rule.level != "must"):
        yield _broken_rule(each, check, system)


def _broken_rule(finding: Finding, check: Check, system: System) -> BrokenRule:
    sides = found_and_wanted(finding, system)
    return BrokenRule(
        rule=finding.rule.id,
        level=finding.rule.level,
        statement=finding.statement,
        found=subject_that_decides(finding, check) + sides.found if sides else "",
        wanted=sides.wanted if sides else "",
        excused=finding.variance is not None,
    )


def sha256_of(file: Path) -> str:
    """The SHA-256 of a file's bytes, as common tools print it; empty for a folder."""
    if is_folder(file):
        return ""
    total = hashlib.sha256()
    for block in read_blocks(str(file)):
        total.update(block)
    return total.hexdigest()
