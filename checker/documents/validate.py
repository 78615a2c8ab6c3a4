"""Checks one document against the schema of its kind; every fault becomes a problem."""

from collections.abc import Mapping
from typing import Any

from checker.documents.document import Document
from checker.documents.problems import DataPath, Problem, describe, nearest, one_of, quoted
from checker.documents.schemas import families


def validate(document: Document, *, wanted_kind: str | None = None) -> list[Problem]:
    """All problems of a document with the schema of its kind, ordered by location.

    `wanted_kind` is the kind of file that a reference to it needs.
    """
    data = document.data
    if not isinstance(data, dict):
        if document.problems:
            return []
        # Imported for files with faults only.
        from checker.documents.wrong_forms import missing_space

        wanted = "a document that starts with `kind: ...`"
        glued = missing_space(data) if isinstance(data, str) else None
        found, suggestion = glued or (describe(data), None)
        return [document.problem((), found, wanted, suggestion)]
    kind = data.get("kind")
    known = [wanted_kind] if wanted_kind else list(families())
    if not isinstance(kind, str) or kind not in known:
        found = "no 'kind'" if kind is None else f"{describe(kind)} as the kind"
        alike = _misspelt_kind(data) if "kind" not in data else None
        if alike is not None:
            mark = document.key_mark((alike,))
            wanted = f"the key kind, with {one_of(known)}"
            return [Problem(document.file, mark, f"the key {quoted(alike)}", wanted, "'kind'")]
        # Imported for files with faults only.
        from checker.documents.trade_words import word_meant

        guess = word_meant(kind, known) or nearest(kind, known) if isinstance(kind, str) else None
        wanted = f"`kind: {known[0]}`" if wanted_kind else f"`kind: ...`, {one_of(known)}"
        path: DataPath = ("kind",) if "kind" in data else ()
        return [document.problem(path, found, wanted, guess and quoted(guess))]
    if document.sound:
        return []
    # Imported for uncached files only: a check of cached files needs no validator.
    from checker.documents.quick_validation import fits

    if fits(data, families()[kind]):
        return []
    # Imported for files with faults only: it costs more than validating a sound file.
    from checker.documents.schema_errors import document_problems

    return document_problems(document, families()[kind])


def _misspelt_kind(data: Mapping[str, Any]) -> str | None:
    """A key that may be a misspelt `kind`."""
    return next((key for key in data if nearest(key, ["kind"])), None)


def value_problems(value: str | float, node: Mapping[str, Any]) -> list[Problem]:
    """The problems of a value with the schema node of one profile field; they have no location."""
    from checker.documents.quick_validation import value_fits

    if value_fits(value, node):
        return []
    # As above: most values of a season are valid, and many are new.
    from checker.documents.schema_errors import problems_of_value

    return problems_of_value(value, node)
