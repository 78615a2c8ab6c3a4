"""Codes of jurisdictions: ISO 3166 countries, their subdivisions, and counties below those.

An unknown code would silently have no rules, so it is a problem. The table is `iso_3166.txt` beside
this file; it is read on the first question, and only the line of one country is parsed.
"""

import re
from collections.abc import Iterator, Mapping
from functools import cache
from pathlib import Path
from typing import Final

from msgspec import Struct

from checker.documents.problems import nearest, quoted
from checker.documents.schema_keywords import TextFault

ANYWHERE: Final = "any"
"""The jurisdiction of rules that apply on every trip."""
_UNION_NAMES: Final = {"EU": "European Union"}
UNIONS: Final = frozenset(_UNION_NAMES)
"""Jurisdictions of several countries, by codes that ISO 3166 keeps reserved."""
REGIONS: Final = {"North America": ("US", "CA", "MX")}
"""Countries that share a practice. A region has no law of its own, and no trip names one."""

_FORM: Final = re.compile(r"([A-Z]{2})(?:-([A-Z0-9]{1,3})(?:-([A-Z0-9]{1,12}))?)?")
_COMMON: Final = {"UK": "GB"}
"""Codes that people write for a country whose code is another."""
_MOST_NAMED: Final = 6


class _Country(Struct, frozen=True):
    code: str
    three: str
    name: str
    parts: Mapping[str, str]
    """Short names of its subdivisions by their codes without the country."""


@cache
def _table() -> str:
    return Path(__file__).with_name("iso_3166.txt").read_text("utf-8")


@cache
def _country(code: str) -> _Country | None:
    """The country of a two-letter code; None where there is none."""
    start = _table().find(f"\n{code}\t")
    if start < 0:
        return None
    return _taken_apart(_table()[start + 1 : _table().index("\n", start + 1)])


def _taken_apart(line: str) -> _Country:
    code, three, name, parts = line.split("\t")
    pairs = (part.partition("=") for part in parts.split(";") if part)
    return _Country(code, three, name, {code: name for code, _, name in pairs})


def _countries() -> Iterator[_Country]:
    return (_taken_apart(line) for line in _table().splitlines() if "\t" in line)


def place_name(code: str) -> str:
    """What a place is called; the code itself where ISO 3166 has no name for it."""
    if code == ANYWHERE:
        return "anywhere"
    if code in UNIONS:
        return _UNION_NAMES[code]
    whole, _, part = code.partition("-")
    country = _country(whole)
    if country is None:
        return code
    return (country.parts.get(part, "") if part else country.name) or code


def code_fault(text: str, *, anywhere: bool) -> TextFault | None:
    """Why a text is not the code of a jurisdiction; None if it is one.

    With `anywhere` the word `any` and the name of a region are codes too. The part after a
    state, such as a county, is defined by the project: only its form is checked.
    """
    if text in UNIONS or (anywhere and (text == ANYWHERE or text in REGIONS)):
        return None
    form = _FORM.fullmatch(text)
    country = _country(form[1]) if form else None
    if form and country and (form[2] is None or form[2] in country.parts):
        return None
    if form and country:
        wanted = f"the ISO 3166-2 code of a part of {country.name}"
        if not country.parts:
            wanted = f"{country.code}: ISO 3166-2 has no parts of {country.name}"
        return TextFault(quoted(text), wanted, _named(_parts_meant(form[2], country)))
    wanted = (
        "a country such as US, a state or province such as US-UT, or a county behind one, by their "
        "ISO 3166 codes"
    )
    if anywhere:
        wanted = f"`any`, {wanted}, or a region: {', '.join(REGIONS)}"
    return TextFault(quoted(text), wanted, _meant(text, anywhere=anywhere))


def _meant(text: str, *, anywhere: bool) -> str | None:
    """Codes that may have been meant: other letters, a name, or a code of another list."""
    word, _, behind = text.strip().upper().partition("-")
    if word in UNIONS:
        return quoted(word)
    if anywhere and (guess := nearest(text, [ANYWHERE, *REGIONS])):
        return quoted(guess)
    country = _country(_COMMON.get(word, word)) if len(word) == len("US") else None
    for each in _countries() if country is None else ():
        if word in (each.three, each.name.upper()):
            country = each
            break
    if country is not None:
        part = behind.partition("-")[0]
        if not behind or part in country.parts:
            return quoted("-".join(filter(None, (country.code, behind))))
        return _named(_parts_meant(part, country)) or quoted(country.code)
    found = [
        (f"{each.code}-{code}", name)
        for each in _countries()
        for code, name in each.parts.items()
        if name and name.upper() == text.strip().upper()
    ]
    if not found and len(word) == len("US"):
        found = [(each.code, each.name) for each in _countries() if each.name.upper()[:2] == word]
    return _named(found)


def _parts_meant(part: str, country: _Country) -> list[tuple[str, str]]:
    """Subdivisions of a country whose code or name is near the text."""
    near = [
        (f"{country.code}-{code}", name)
        for code, name in country.parts.items()
        if len(code) == len(part) and sum(a != b for a, b in zip(code, part, strict=True)) == 1
    ]
    named = [
        (f"{country.code}-{code}", name)
        for code, name in country.parts.items()
        if len(part) > len("UT") and name.upper().startswith(part)
    ]
    # People get the later letters of a code wrong more often than the first.
    return named or sorted(near, key=lambda pair: (pair[0][3] != part[0], pair[0]))


def _named(found: list[tuple[str, str]]) -> str | None:
    if not found:
        return None
    *most, last = [
        f"{quoted(code)} ({name})" if name else quoted(code) for code, name in found[:_MOST_NAMED]
    ]
    return f"{', '.join(most)} or {last}" if most else last
