"""Every problem of rule files, as a document."""

from collections.abc import Sequence
from typing import Final

from msgspec import Struct

from checker.documents.problems import Problem
from checker.reports.shared.json_document import record_document
from checker.reports.shared.portable_paths import portable
from checker.upkeep.all_checks import RuleFileCheck

KIND: Final = "rule-file-check"


class ProblemRecord(Struct, frozen=True):
    """Something that is wrong with a file."""

    file: str
    """Path of the file."""
    line: int
    """Line, counted from 1."""
    column: int
    """Column, counted from 1."""
    found: str
    """What was found."""
    wanted: str
    """What would be accepted."""
    suggestion: str | None
    """What was probably meant; null where nothing is near."""


class Document(Struct, frozen=True):
    """What is wrong with rule files that can be read, and how much was checked."""

    faults: tuple[ProblemRecord, ...]
    """What has to be fixed."""
    warnings: tuple[ProblemRecord, ...]
    """Sources due for review, which count as faults with --strict."""
    unreleased: tuple[str, ...]
    """Ids of rules that are not in the list of released ids yet."""
    rulebooks: int
    """Number of rulebooks."""
    rules: int
    """Number of rules."""
    tables: int
    """Number of tables of unmarked devices."""
    amendments: int
    """Number of amendments."""
    sources: int
    """Number of documents that rules cite."""
    proofs: int
    """Number of proofs."""


def document(checked: RuleFileCheck) -> str:
    """The result as a document."""
    return record_document(
        KIND,
        Document(
            faults=_problems(checked.faults),
            warnings=_problems(checked.warnings),
            unreleased=checked.unreleased,
            rulebooks=checked.rulebooks,
            rules=checked.rules,
            tables=checked.tables,
            amendments=checked.amendments,
            sources=checked.sources,
            proofs=checked.proofs,
        ),
    )


def _problems(problems: Sequence[Problem]) -> tuple[ProblemRecord, ...]:
    return tuple(
        ProblemRecord(
            file=portable(each.file),
            line=each.mark.line,
            column=each.mark.column,
            found=each.found,
            wanted=each.wanted,
            suggestion=each.suggestion,
        )
        for each in problems
    )
