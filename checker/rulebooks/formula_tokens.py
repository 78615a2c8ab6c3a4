"""Cuts the text of a formula into names, numbers and signs, and reports what is not allowed."""

import difflib
import re
from collections.abc import Iterable, Mapping
from functools import partial
from typing import Final, Literal, NamedTuple

from checker.rulebooks.dimensions import FormulaError, Names
from checker.rulebooks.formula_arithmetic import ARITHMETIC, COMPARE, OF_MANY, OF_ONE


class Token(NamedTuple):
    """One name, number or sign; `offset` is its index in the text."""

    text: str
    offset: int
    kind: Literal["name", "number", "function", "sign", "end"]


_TOKEN: Final = re.compile(
    r"(?P<name>[A-Za-z_][A-Za-z0-9_]*(?:\.[A-Za-z_][A-Za-z0-9_]*)*)"
    r"|(?P<number>\.?[0-9][A-Za-z0-9_.]*)"
    r"|(?P<foreign>\*\*|//|!=|<>|=>|=<|&&|\|\|)"
    r"|(?P<sign><=|>=|==|[-+*/<>(),])"
    r"|(?P<other>\S)",
    re.ASCII,
)
_WORDS: Final = ("and", "or", "not", "unless")
FUNCTIONS: Final = (*OF_MANY, *OF_ONE)
# Signs that people type from a keyboard, a spreadsheet or another language.
_MEANT: Final[Mapping[str, str]] = {
    "=": "==",
    "=>": ">=",
    "=<": "<=",
    "\N{GREATER-THAN OR EQUAL TO}": ">=",
    "\N{LESS-THAN OR EQUAL TO}": "<=",
    "\N{MULTIPLICATION SIGN}": "*",
    "\N{MIDDLE DOT}": "*",
    "\N{DIVISION SIGN}": "/",
    "\N{MINUS SIGN}": "-",
    "\N{EN DASH}": "-",
    "&": "and",
    "&&": "and",
    "|": "or",
    "||": "or",
    "!": "not",
    "!=": "not (a == b)",
    "<>": "not (a == b)",
    "\N{NOT EQUAL TO}": "not (a == b)",
    "**": "a * a",
    "^": "a * a",
    "//": "floor(a / b)",
}
_SIGNS: Final = (*ARITHMETIC, *COMPARE, *_WORDS, "(", ")")
_HIDDEN_NUMBER: Final = "0, 1 or 2; write any other number as a threshold with a source and a date"


def tokens_of(text: str, names: Names, faults: list[FormulaError]) -> list[Token]:
    """The tokens of a formula; adds a fault for every sign, number and name not allowed.

    A sign whose meaning is clear is replaced, so that parsing can go on to the next fault. At any
    other the parser stops, because what follows would be guesswork.
    """
    tokens: list[Token] = []
    for match in _TOKEN.finditer(text):
        word, offset = match.group(), match.start()
        if match.lastgroup == "name":
            called = text[match.end() :].lstrip().startswith("(")
            tokens.append(_name_token(word, offset, names, faults, called=called))
        elif match.lastgroup == "number":
            if word not in ("0", "1", "2"):
                short = re.sub(r"\.0*$", "", word)
                meant = short if short in ("0", "1", "2") else None
                found = f"the number {word} is in the formula"
                faults.append(FormulaError(found, _HIDDEN_NUMBER, meant, offset))
            tokens.append(Token(word, offset, "number"))
        elif match.lastgroup == "sign":
            tokens.append(Token(word, offset, "sign"))
        else:
            meant = _MEANT.get(word)
            found = f"`{word}` has no meaning in a formula"
            faults.append(FormulaError(found, f"one of {' '.join(_SIGNS)}", meant, offset))
            tokens.append(Token(meant or word, offset, "sign"))
    tokens.append(Token("", len(text.rstrip()), "end"))
    return tokens


def _name_token(
    word: str, offset: int, names: Names, faults: list[FormulaError], *, called: bool
) -> Token:
    if word in _WORDS:
        return Token(word, offset, "sign")
    if called and word in FUNCTIONS:
        return Token(word, offset, "function")
    if not called and word in names:
        return Token(word, offset, "name")
    lower = word.lower()
    if lower in _WORDS:
        faults.append(FormulaError(f"`{word}` is not written so", "small letters", lower, offset))
        return Token(lower, offset, "sign")
    if called:
        found, wanted, known = f"`{word}` is not a function", ", ".join(FUNCTIONS), FUNCTIONS
    else:
        found, known = f"`{word}` is not a known name", tuple(names)
        wanted = "a fact of the catalogue or a threshold of this rule"
    faults.append(FormulaError(found, wanted, partial(_nearest, lower, known), offset))
    return Token(word, offset, "function" if called else "name")


def _nearest(lower: str, known: Iterable[str]) -> str | None:
    by_lower = {name.lower(): name for name in known}
    close = difflib.get_close_matches(lower, by_lower, n=1)
    return by_lower[close[0]] if close else None
