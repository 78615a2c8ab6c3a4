"""Figures with a decimal comma: `1.200,5` is written as `1200.5` before it is read.

A comma before three digits may part thousands or begin decimals. So a figure is only rewritten
where a mapping file says what its comma is, and `Readings` counts those that fit both.
"""

import re
from typing import Final

from checker.logs.model import DecimalSign

# Spaces between groups: plain, no-break and narrow.
_GROUP: Final = "[ \N{NO-BREAK SPACE}\N{NARROW NO-BREAK SPACE}]"
_TOKEN: Final = re.compile(rf"[0-9.,]*[0-9](?:{_GROUP}[0-9]{{3}}(?![0-9/]))*(?:[.,][0-9]+)*")
_COMMA: Final = re.compile(
    rf"(?P<whole>[1-9][0-9]{{0,2}}(?:(?:\.[0-9]{{3}})+|(?:{_GROUP}[0-9]{{3}})+)|[0-9]*)"
    r"(?:,(?P<decimals>[0-9]+))?"
)
_POINT: Final = re.compile(r"(?:[1-9][0-9]{0,2}(?:,[0-9]{3})+|[0-9]+)(?:\.[0-9]+)?|\.[0-9]+")


class DecimalSignError(ValueError):
    """A figure that is not written with the decimal sign of its column; the text says why."""


def with_point(text: str, sign: DecimalSign) -> str:
    """A text with its figures as profiles write them.

    Raises DecimalSignError for a figure written otherwise than `sign` says.
    """
    if sign is DecimalSign.USUAL:
        return text
    return _TOKEN.sub(lambda token: _token_with_point(token[0], sign), text)


def _token_with_point(token: str, sign: DecimalSign) -> str:
    if sign is DecimalSign.COMMA:
        found = _COMMA.fullmatch(token)
        if found is None:
            message = "a number with a comma before its decimals, as `decimal: comma` says"
            raise DecimalSignError(message)
        whole = re.sub(r"[^0-9]", "", found["whole"])
        return f"{whole or '0'}.{found['decimals']}" if found["decimals"] else whole
    if sign is DecimalSign.UNKNOWN and "," in token:
        message = (
            "`decimal: comma` or `decimal: point` in a mapping file, as the comma may be either"
        )
        raise DecimalSignError(message)
    if sign is DecimalSign.POINT and not _POINT.fullmatch(token):
        message = "a number with a point before its decimals, as `decimal: point` says"
        raise DecimalSignError(message)
    return token


def fits(text: str, sign: DecimalSign) -> tuple[bool, bool]:
    """Whether a text fits `sign`, and whether it fits the other sign and is another figure then.

    `1,200` fits both. Neither is True for a text whose figures have no comma and no point.
    """
    tokens = [token for token in _TOKEN.findall(text) if "," in token or "." in token]
    if not tokens:
        return False, False
    if sign is DecimalSign.UNKNOWN:
        return False, any("," in token for token in tokens)
    own, other = (_COMMA, _POINT) if sign is DecimalSign.COMMA else (_POINT, _COMMA)
    return all(map(own.fullmatch, tokens)), all(map(other.fullmatch, tokens))
