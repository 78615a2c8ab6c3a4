"""Escapes text from files and options, so that printing it cannot control a terminal or CI server.

A terminal obeys escape sequences; a CI server runs a log line as a command if it begins with `::`,
or contains `##[` or `##vso[`.
"""

import json
import re
from collections.abc import Iterator
from typing import Any, Final

import msgspec

_FIRST_BYTE: Final = 0xDC00
"""How Python represents bytes that are not UTF-8: the byte 0xff of a file name is U+DCFF."""

# Control characters, line ends, marks that change the text direction, lone surrogates,
# and invisible tags. The line end \n stays: `escaped` is for single lines.
_IN_LINES: Final = re.compile(
    "[\\x00-\\x09\\x0b-\\x1f\\x7f-\\x9f\\u061c\\u200e\\u200f\\u2028-\\u202e\\u2066-\\u2069"
    "\\ud800-\\udfff\\ufeff\\ufff9-\\ufffb\\U000e0000-\\U000e007f]"
)
_COMMAND_AT_START: Final = re.compile(r"\s*::")
_COMMAND: Final = re.compile(r"##(?=\[|vso\[)")


def escaped(text: str) -> str:
    """The text on one line, with an escape for each invisible character."""
    if text.isprintable():
        return text
    return "".join(letter if letter.isprintable() else _escape_letter(letter) for letter in text)


def escape_lines(text: str, *, at_start: bool = True) -> tuple[str, bool]:
    """The lines without anything that acts, and True if the next text begins a line.

    `at_start` is True if this text begins a line itself.
    """
    if not text:
        return text, at_start
    lines = _COMMAND.sub(r"#\\#", _IN_LINES.sub(_escape_match, text)).split("\n")
    for index, line in enumerate(lines):
        if (index or at_start) and (found := _COMMAND_AT_START.match(line)):
            start = found.end() - 2
            lines[index] = f"{line[:start]}\\{line[start:]}"
    # Blanks at the start of a line do not count.
    return "\n".join(lines), not lines[-1].strip() and (len(lines) > 1 or at_start)


def escape_commands(text: str) -> str:
    """The text escaped for use inside one of our own CI commands."""
    return escape_lines(text, at_start=False)[0]


def json_text(data: Any, *, levels: int | None = None) -> str:
    """Data as a JSON document that stays the same when printed: what would act is escaped.

    Lists and objects below that many `levels` of nesting are on one line each. Default: none.
    """
    text = _indented(data) if levels is None else "".join(_lines(data, levels, "\n"))
    # A backslash escape of our own for bytes, for which JSON has none.
    text = _IN_LINES.sub(lambda found: _escape_letter(found[0]).replace("\\x", "\\\\x"), text)
    return _COMMAND.sub(r"\\u0023#", text) + "\n"


def _indented(data: Any) -> str:
    # json writes lines of its own in Python, two to seven times slower than both steps together.
    # msgspec writes numbers in another way: 1e-7 where Python and earlier reports have 1e-07.
    compact = _on_one_line(data).encode("utf-8", "surrogatepass")
    return msgspec.json.format(compact, indent=2).decode("utf-8", "surrogatepass")


def _on_one_line(data: Any) -> str:
    return json.dumps(data, ensure_ascii=False, allow_nan=False, separators=(",", ":"))


def _lines(data: Any, levels: int, line_end: str) -> Iterator[str]:
    """The text of the data in parts; `line_end` begins the next line with its indentation."""
    if not levels or not data or not isinstance(data, (dict, list)):
        yield _on_one_line(data)
        return
    is_object = isinstance(data, dict)
    for index, entry in enumerate(data):
        yield f"{',' if index else '{' if is_object else '['}{line_end}  "
        if is_object:
            yield f"{_on_one_line(entry)}: "
        yield from _lines(data[entry] if is_object else entry, levels - 1, f"{line_end}  ")
    yield f"{line_end}{'}' if is_object else ']'}"


def escape_letters(letters: str) -> str:
    """An escape for each character, in JSON's form."""
    units = letters.encode("utf-16-be", "surrogatepass")
    return "".join(f"\\u{units[at : at + 2].hex()}" for at in range(0, len(units), 2))


def _escape_match(found: re.Match[str]) -> str:
    return _escape_letter(found[0])


def _escape_letter(letter: str) -> str:
    code = ord(letter)
    if _FIRST_BYTE <= code < _FIRST_BYTE + 0x100:
        return f"\\x{code - _FIRST_BYTE:02x}"
    return json.dumps(letter)[1:-1]
