"""A formula as a tree of Python's own syntax, for what looks at its parts."""

import ast
import re


def tree_of(formula: str) -> ast.expr | None:
    """The tree of a formula that was compiled; None where a name is a word of Python, such as `in`.

    Formulas have Python's syntax, cut down, and `unless`: an `or` that binds as loosely as one.
    """
    # A formula may stand on several lines.
    text = re.sub(r"\bunless\b", "or", formula.strip())
    try:
        return ast.parse(f"({text})", mode="eval").body
    except SyntaxError:
        return None
