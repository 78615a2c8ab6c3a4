"""Finds the rule files of a folder: each YAML file in it is a rule file, or it is a problem."""

from collections.abc import Mapping, Set
from pathlib import Path

from checker.documents.document import Document
from checker.documents.document_cache import DocumentCache
from checker.documents.escaping import escaped
from checker.documents.folders import IgnorePatterns, yaml_files
from checker.documents.problems import Mark, Problem, ProblemsFoundError
from checker.documents.schemas import RULES, families
from checker.documents.validate import validate
from checker.load.build import shown_path
from checker.rulebooks.needed_rulebooks import Trips, read_as_needed


def read_rule_files(
    folder: Path,
    *,
    first_only: Set[str],
    edited: Mapping[Path, str],
    trips: Trips | None,
    cache: DocumentCache,
    ignored: IgnorePatterns | None,
) -> list[Document]:
    """Each YAML file of a folder and its subfolders, or the one file, ordered by name.

    `edited` holds texts to read in place of files, by absolute path. Raises ProblemsFoundError
    where no file holds rules, or a folder cannot be read.
    """
    top = folder.resolve()
    files, closed = [top], list[Problem]()
    if top.is_dir():
        files, closed = yaml_files(top, ignored)
        files = sorted({*files, *(path for path in edited if path.is_relative_to(top))})

    def read(path: Path) -> Document:
        if path in edited:
            from checker.documents.reader import read_bytes  # most runs edit nothing

            return read_bytes(edited[path].encode(), shown_path(path), first_only=first_only)
        if trips is not None:
            return read_as_needed(path, shown_path(path), trips, cache, first_only=first_only)
        return cache.read_file(path, shown_path(path), first_only=first_only)

    documents = [read(path) for path in files]
    if closed or not any(map(_holds_rules, documents)):
        unfit = [fault for each in documents for fault in each.problems + validate(each)]
        raise ProblemsFoundError([*closed, *unfit] or [_nothing(folder)])
    return documents


def _holds_rules(document: Document) -> bool:
    """True if a file states one of the kinds that rules are made of."""
    kind = document.data.get("kind") if isinstance(document.data, dict) else None
    return isinstance(kind, str) and families().get(kind) == RULES


def _nothing(folder: Path) -> Problem:
    found = f"a {'folder' if folder.is_dir() else 'file'} without rules"
    wanted = "a rulebook, an amendment, or another file of rules"
    return Problem(escaped(shown_path(folder)), Mark(1, 1), found, wanted)
