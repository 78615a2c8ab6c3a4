"""Reads text that a crew writes, such as `5 ft 2 in`, as a quantity of one of the kinds.

Every quantity is held in N, m, s and rad. A mass is held as its weight under standard gravity
(9.80665 m/s2), so weights, ratings and working load limits are one kind, `load`.

The grammar is our own and small on purpose, because a general library guesses: it reads `2 5/16 in`
as a product and drops the comma of `1,57 m`. Here a text means one thing or is refused. Numbers are
kept as exact fractions until the last step, so `16 ft` and `4.8768 m` give the same float.
"""

import re
from datetime import date
from typing import Final, NoReturn

from msgspec import Struct

from checker.units.kinds import KINDS, SECONDS_OF_A_DAY, Kind
from checker.units.numbers import (
    A_SIZE_THAT_OCCURS,
    LARGEST_SIZE,
    NUMBER,
    NumberError,
    exact_fraction,
)
from checker.units.quantity import LONGEST_TEXT, Quantity, UnitError
from checker.units.words import (
    Unit,
    ambiguous_word,
    cached_by_units,
    fault_of_unit,
    find_unit,
    why_ambiguous,
)

__all__ = [
    "KINDS",
    "LONGEST_TEXT",
    "Kind",
    "Quantity",
    "UnitError",
    "parse",
    "parse_size",
    "parse_threshold",
]

# Only these pairs add up in one text, and only while the second stays below one of the first.
_SUMS: Final = {("ft", "in"): (12, "inches", "feet"), ("h", "min"): (60, "minutes", "hours")}

_ALIKE: Final = str.maketrans(
    {
        "\N{NO-BREAK SPACE}": " ",
        "\N{NARROW NO-BREAK SPACE}": " ",
        "\N{FIGURE SPACE}": " ",
        "\N{THIN SPACE}": " ",
        "\N{MINUS SIGN}": "-",
        "\N{PRIME}": "'",
        "\N{RIGHT SINGLE QUOTATION MARK}": "'",
        "\N{DOUBLE PRIME}": '"',
        "\N{RIGHT DOUBLE QUOTATION MARK}": '"',
    }
)
# A power (`ft3`, `s2`) counts only at the end, so that `5ft3in` stays five feet three.
_UNIT: Final = re.compile(r"['\"%°]|[A-Za-z]+(?:[*/·_-][A-Za-z]+)*(?:[²³]|\^?[23](?=[ ]*$))?\.?")
_SPACES: Final = re.compile(r"[ ]*")
_TOLERANCE: Final = re.compile(r"[ ]*(?:±|\+/-)[ ]*")

_A_DAY: Final = KINDS["day"]
_DAY: Final = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")

_ANY_WANTED: Final = "a threshold such as '50 %', '2150 lb', '16 ft' or '0.4'"


@cached_by_units(16384)
def parse(text: str, kind: str) -> Quantity:
    """Read `text` as a quantity of `kind`, with its tolerance if one is written.

    A tolerance in % is a share of the value. Only for kind `ratio` it is in percentage points:
    `12 % ± 1 %` runs from 11 % to 13 %.

    Raises UnitError when the text is not such a quantity, or could be read in two ways.
    """
    return _Reading(text, KINDS[kind]).quantity()


@cached_by_units(4096)
def _parse_any(text: str) -> Quantity:
    return _Reading(text, None).quantity()


def parse_threshold(text: str | int | float) -> Quantity:
    """Read a rule's threshold: the unit gives the kind, a bare number is of kind `number`.

    A threshold has no tolerance: the limit of a rule is one number.
    """
    if isinstance(text, str):
        return _parse_any(text)
    if isinstance(text, bool):
        raise UnitError("yes" if text else "no", _ANY_WANTED)
    try:
        return _parse_any(repr(float(text)))
    except OverflowError:
        raise UnitError("a number too large to hold", _ANY_WANTED) from None


def parse_size(text: str) -> tuple[int, int, Unit]:
    """The exact size of a quantity of any kind in N, m, s and rad, and the unit it is stated in.

    Raises UnitError where the text states a tolerance, has no unit or is no quantity.
    """
    reading = _Reading(text, None)
    reading.quantity()
    amount = reading.amount(0, len(reading.text))
    if amount.unit is None:
        reading.refuse("a size with its unit")
    return amount.top, amount.bottom, amount.unit


class _Amount(Struct, frozen=True):
    """The text on one side of `±`, or all of it, as an exact fraction; in SI if it has a unit."""

    top: int
    bottom: int
    unit: Unit | None
    signed: bool = False
    is_sum: bool = False
    lone_comma: int | None = None  # its place in the text, if one comma may stand before decimals


class _Reading:
    """One text being read, with the context that its error messages need."""

    def __init__(self, found: str, kind: Kind | None) -> None:
        self.found = found
        self.kind = kind
        self.text = found.translate(_ALIKE).strip(" ")
        if len(found) > LONGEST_TEXT:
            self.refuse(f"at most {LONGEST_TEXT} characters")

    def refuse(self, wanted: str = "", suggestion: str | None = None) -> NoReturn:
        if not wanted:
            wanted = self.kind.wanted if self.kind else _ANY_WANTED
        raise UnitError(self.found, wanted, suggestion)

    # -- the whole text ------------------------------------------------------------------------

    def quantity(self) -> Quantity:
        if (self.kind or _A_DAY) is _A_DAY and (day := self.day()):
            return Quantity(day, 0.0, _A_DAY.name, "", None)
        if self.kind is _A_DAY:
            self.refuse()
        sign = _TOLERANCE.search(self.text)
        if sign is None:
            amount = self.amount(0, len(self.text))
            half_width = 0.0
        else:
            amount, half_width = self.with_tolerance(sign.start(), sign.end())
        kind = self.kind_of(amount)
        value = self.as_float(amount)
        if kind.name == "count" and not (value >= 0 and value.is_integer()):
            self.refuse()
        unit = amount.unit
        if unit is None:
            return Quantity(value, half_width, kind.name, "", None)
        return Quantity(value, half_width, kind.name, unit.word, unit.metric)

    def day(self) -> float | None:
        """The day written, in seconds since 0001-01-01; None where the text is no day."""
        if not _DAY.fullmatch(self.text):
            return None
        try:
            return date.fromisoformat(self.text).toordinal() * SECONDS_OF_A_DAY
        except ValueError:
            self.refuse("a day of the calendar, such as '1988-07-01'")

    def with_tolerance(self, left_end: int, right_start: int) -> tuple[_Amount, float]:
        if self.kind is None:
            self.refuse("a threshold without a tolerance")
        if self.kind.name == "count":
            self.refuse("a whole number without a tolerance")
        left = self.amount(0, left_end)
        right = self.amount(right_start, len(self.text))
        if right.signed:
            self.refuse("a tolerance without a sign of its own")
        if left.unit and not right.unit:
            self.refuse(
                "a tolerance with its own unit",
                None if left.is_sum else f"{self.text} {left.unit.word}",
            )
        share = right.unit and right.unit.word == "%" and self.kind.name != "ratio"
        if not left.unit and right.unit and not share:
            if right.is_sum:  # `60 ± 1 ft 2 in`: feet or inches?
                self.refuse()
            unit = right.unit
            top, bottom = left.top * unit.top, left.bottom * unit.bottom
            left = _Amount(top, bottom, unit, lone_comma=left.lone_comma)
        self.kind_of(left)
        if share:
            part = _Amount(abs(left.top) * right.top, left.bottom * right.bottom, left.unit)
            return left, self.as_float(part)
        self.kind_of(right)
        return left, self.as_float(right)

    def kind_of(self, amount: _Amount) -> Kind:
        """The kind of the quantity read; refuses a kind that is not wanted."""
        if amount.unit:
            kind = KINDS[amount.unit.kind]
            if self.kind is not None and self.kind is not kind:
                self.refuse(f"{self.kind.wanted}, not {kind.noun}")
            in_metres = kind.name == "length" and amount.unit.metric
            if amount.lone_comma is not None and in_metres:
                self.refuse_lone_comma(amount.lone_comma)
            return kind
        if self.kind is None:
            return KINDS["number"]
        if self.kind.units:
            self.refuse(suggestion=self.with_usual_unit(amount, self.kind))
        return self.kind

    def with_usual_unit(self, amount: _Amount, kind: Kind) -> str | None:
        # A bare share of 1 or less may be a fraction or a percentage: no guess is honest.
        if kind.name == "ratio" and abs(amount.top) <= amount.bottom:
            return None
        return f"{self.text} {kind.us}" if NUMBER.fullmatch(self.text) else None

    def as_float(self, amount: _Amount) -> float:
        try:
            value = amount.top / amount.bottom
        except OverflowError:
            self.refuse(A_SIZE_THAT_OCCURS)
        if (value == 0.0 and amount.top) or abs(value) > LARGEST_SIZE:
            self.refuse(A_SIZE_THAT_OCCURS)
        return value

    # -- one side ------------------------------------------------------------------------------

    def amount(self, start: int, end: int) -> _Amount:
        """`number [unit]` or a sum such as `5 ft 2 in`."""
        first = NUMBER.match(self.text, start, end)
        if first is None:
            self.refuse_rest(start)
        top, bottom = self.fraction(first)
        signed = bool(first["sign"])
        decimal = first["decimal"] or ""
        lone_comma = None
        if decimal.count(",") == 1 and "." not in decimal:
            lone_comma = first.start("decimal") + decimal.index(",")
        place = self.skip(first.end(), end)
        if place == end:
            return _Amount(top, bottom, None, signed, lone_comma=lone_comma)
        unit, place = self.unit(place, end)
        top, bottom = top * unit.top, bottom * unit.bottom
        if place < end:
            if not decimal.replace(",", "").isdigit() or first["exponent"]:
                self.refuse_rest(place)
            more_top, more_bottom = self.second_part(unit.word, place, end)
            if first["sign"] == "-":
                more_top = -more_top
            top, bottom = top * more_bottom + more_top * bottom, bottom * more_bottom
            return _Amount(top, bottom, unit, signed, is_sum=True)
        return _Amount(top, bottom, unit, signed, lone_comma=lone_comma)

    def second_part(self, first_unit: str, start: int, end: int) -> tuple[int, int]:
        """The smaller part of a sum, in SI: the `2 in` of `5 ft 2 in`."""
        number = NUMBER.match(self.text, start, end)
        if number is None or number["sign"] or number["exponent"]:
            self.refuse_rest(start)
        place = self.skip(number.end(), end)
        if place == end:
            smaller = next((pair[1] for pair in _SUMS if pair[0] == first_unit), None)
            self.refuse(
                suggestion=f"{self.text} {smaller}" if smaller and end == len(self.text) else None
            )
        unit, place = self.unit(place, end)
        if place < end or (first_unit, unit.word) not in _SUMS:
            self.refuse_rest(place)
        limit, smaller_name, larger_name = _SUMS[first_unit, unit.word]
        top, bottom = self.fraction(number)
        if top >= limit * bottom:
            self.refuse(f"fewer than {limit} {smaller_name} after the {larger_name}")
        return top * unit.top, bottom * unit.bottom

    def fraction(self, number: re.Match[str]) -> tuple[int, int]:
        """The number as an exact numerator and denominator."""
        try:
            return exact_fraction(number)
        except NumberError as error:
            self.refuse(error.wanted)

    def skip(self, start: int, end: int) -> int:
        spaces = _SPACES.match(self.text, start, end)
        return spaces.end() if spaces else start

    # -- units ---------------------------------------------------------------------------------

    def unit(self, start: int, end: int) -> tuple[Unit, int]:
        """The unit at `start`, and the index after it and its spaces."""
        match = _UNIT.match(self.text, start, end)
        if match is None:
            self.refuse_rest(start)
        known = find_unit(match[0])
        if known is None:
            self.refuse_unit(match)
        return known, self.skip(match.end(), end)

    def refuse_unit(self, match: re.Match[str]) -> NoReturn:
        self.refuse_ambiguous()
        wanted, guess = fault_of_unit(match[0], self.kind)
        self.refuse(wanted or "", self.replace_unit(match, guess) if guess else None)

    def replace_unit(self, match: re.Match[str], unit: str) -> str:
        number = self.text[: match.start()].rstrip(" ")
        return f"{number} {unit}{self.text[match.end() :]}"

    def refuse_ambiguous(self) -> None:
        word = ambiguous_word(self.text)
        if word is not None:
            self.refuse(why_ambiguous(word))

    def refuse_lone_comma(self, place: int) -> NoReturn:
        """Refuse `1,570 m`: the comma can be a thousands separator or a decimal sign."""
        before, after = self.text[:place], self.text[place + 1 :]
        self.refuse(
            f"'{before}{after}' or '{before}.{after}', because many write a comma before decimals"
        )

    def refuse_rest(self, start: int) -> NoReturn:
        """Refuse what cannot be read from `start` on, and give the likeliest reason."""
        self.refuse_ambiguous()
        if self.text.count(",") == 1 and "." not in self.text and self.text[start:].startswith(","):
            self.refuse(
                "a point before decimals, or commas between groups of three digits",
                self.text.replace(",", "."),
            )
        self.refuse()
