"""A name that begins with an underscore is its module's own: nothing else imports or reads it.

Ruff's rule for this (PLC2701) lets modules of one package take each other's private names.
"""

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

import checker

ALLOWED = {
    # os._exit is documented: it ends a process without waiting for its threads.
    "_exit",
    # The C parser of ruamel.yaml, which the library itself imports by this name.
    "_ruamel_yaml",
}


def private_names(code: str) -> Iterator[str]:
    """The private names of other modules that code imports, or reads of a module it imports."""
    tree = ast.parse(code)
    modules = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.ImportFrom):
            names = [*(node.module or "").split("."), *(each.name for each in node.names)]
            yield from filter(is_private, names)
            modules |= {each.asname or each.name for each in node.names}
        elif isinstance(node, ast.Import):
            yield from (
                part for each in node.names for part in each.name.split(".") if is_private(part)
            )
            modules |= {(each.asname or each.name).split(".")[0] for each in node.names}
    for node in ast.walk(tree):
        if isinstance(node, ast.Attribute) and is_private(node.attr):
            start = node.value
            while isinstance(start, ast.Attribute):
                start = start.value
            if isinstance(start, ast.Name) and start.id in modules:
                yield node.attr


def is_private(name: str) -> bool:
    return name.startswith("_") and not name.endswith("__")


@pytest.mark.parametrize(
    ("code", "found"),
    [
        ("from checker.reports.check_forms.junit import _clean", ["_clean"]),
        ("from highspy._core import Solver", ["_core"]),
        ("import highspy._core as core", ["_core"]),
        ("import a.b\na.b._c()", ["_c"]),
        ("from a import b as c\nc._d", ["_d"]),
        ("def f():\n    from a import _b", ["_b"]),
        ("from __future__ import annotations\nimport a\na.__version__\nself._b", []),
    ],
)
def test_private_names_are_seen(code: str, found: list[str]) -> None:
    assert list(private_names(code)) == found


def test_no_module_takes_a_private_name_of_another() -> None:
    found = {
        f"{file}: {name}"
        for file in Path(checker.__path__[0]).rglob("*.py")
        for name in private_names(file.read_text(encoding="utf-8"))
        if name not in ALLOWED
    }
    assert found == set()
