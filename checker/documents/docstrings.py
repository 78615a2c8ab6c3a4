"""The docstrings of records, which say in schemas what their fields mean."""

import ast
import inspect
from collections.abc import Iterator
from itertools import pairwise
from typing import Any

from msgspec import Struct


def field_meanings(record: type[Any]) -> Iterator[tuple[str, str]]:
    """Each attribute with the docstring under it, which only the source of the record holds.

    Those of the records that it derives from come first.
    """
    for each in record.__mro__[record.__mro__.index(Struct) - 1 :: -1]:
        yield from _own_meanings(each)


def _own_meanings(record: type[Any]) -> Iterator[tuple[str, str]]:
    (declared,) = ast.parse(inspect.getsource(record)).body
    assert isinstance(declared, ast.ClassDef)
    for attribute, below in pairwise(declared.body):
        match attribute, below:
            case (
                ast.AnnAssign(target=ast.Name(id=name)),
                ast.Expr(value=ast.Constant(value=str(text))),
            ):
                yield name, first_paragraph(text)


def first_paragraph(docstring: str) -> str:
    """The first paragraph of a docstring on one line."""
    return " ".join(docstring.partition("\n\n")[0].split())
