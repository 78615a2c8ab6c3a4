"""The units that pint knows. Importing this module imports pint, which takes 0.3 to 0.5 s.

pint is given one word of letters, never a text: its own grammar reads `2 5/16 in` as a product and
never finishes `9**9**9**9`. Words written out in full are accepted. Symbols are not, because with
pint's prefixes they turn typing errors into units: `mt` would be a millitonne, `cft` a hundredth of
a foot and `pc` a parsec.
"""

import re
from fractions import Fraction
from functools import cache, lru_cache
from typing import Any, Final

import pint

from checker.units.words import AMBIGUOUS, Unit

_SHORT: Final = frozenset({"kip", "day", "rod", "oz", "kgf", "dm", "MN", "MPa", "ksi", "L"})
"""Short words and symbols that are clear to everybody who loads trailers."""
_WRITTEN_OUT: Final = re.compile(r"(?:U[SK]_)?[a-z]{2,}(?:_[a-z]+)*")
_SHORTEST: Final = 4

# Kinds that pint distinguishes by dimension. Its words for moments are those of energies, and all
# pure numbers have the same dimension.
_SI: Final = {
    "load": "newton",
    "length": "meter",
    "duration": "second",
    "speed": "meter / second",
    "pressure": "pascal",
    "acceleration": "meter / second ** 2",
    "volume": "meter ** 3",
}
_MASS: Final = "kilogram"
_WEIGHT_OF_A_KILOGRAM: Final = Fraction("9.80665")
_OF_NO_SYSTEM: Final = frozenset({"angle", "duration"})


class _Pint:
    """The units of pint in exact fractions, with the words and symbols that pint defines.

    The words are copied at the start, because pint adds every prefixed word that it resolves.
    """

    def __init__(self) -> None:
        self.registry: pint.UnitRegistry[Fraction] = pint.UnitRegistry(non_int_type=Fraction)
        self.words = frozenset(self.registry)


_pint = cache(_Pint)


def registry() -> "pint.UnitRegistry[Fraction]":
    """The pint registry with exact fractions, made on the first call."""
    return _pint().registry


def all_words() -> frozenset[str]:
    """Every word and symbol of pint, without prefixes and plurals."""
    return _pint().words


@lru_cache(maxsize=4096)
def resolve(word: str) -> Unit | None:
    """The unit that a word of letters means; None where pint has no such unit that we accept.

    Accepted is a word of one kind and one size, written out in full, alone or with a prefix.
    """
    sizes = {
        measured
        for prefix, name, _plural in registry().parse_unit_name(word)
        if _is_taken(word, prefix, name) and (measured := _measured(prefix + name))
    }
    if len(sizes) != 1:
        return None
    ((kind, size),) = sizes
    shown = word if word in all_words() else word.removesuffix("s")
    return Unit(shown, kind, size.numerator, size.denominator, _is_metric(size, kind))


@cache
def words_of(kind: str) -> tuple[str, ...]:
    """The accepted words of a kind, without prefixes and plurals."""
    units = ((word, resolve(word)) for word in sorted(all_words()))
    return tuple(word for word, unit in units if unit and unit.kind == kind)


def _is_taken(word: str, prefix: str, name: str) -> bool:
    if word in _SHORT or word.removesuffix("s") in _SHORT:
        return True
    own = word.removeprefix(prefix)
    forms = [own, own.removesuffix("s")]
    alone = next((f for f in forms if f in all_words() and registry().get_name(f) == name), "")
    is_symbol = alone != name and alone == registry().get_symbol(name)
    is_written_out = len(alone) >= _SHORTEST and _WRITTEN_OUT.fullmatch(word)
    return bool(is_written_out) and not is_symbol and alone not in AMBIGUOUS


@lru_cache(maxsize=4096)
def _measured(name: str) -> tuple[str, Fraction] | None:
    """Kind and size in N, m, s and rad of a pint unit; None if it is of no kind used here.

    A mass has the size of its weight under standard gravity.
    """
    factor, units = _root_units(name)
    if factor is None:  # degrees of temperature, decibels: no number times a unit
        return None
    if units == registry().Unit("radian"):
        return "angle", factor
    dimension = registry().get_dimensionality(units)
    if dimension == registry().get_dimensionality(_MASS):
        return "load", factor / _size(_MASS) * _WEIGHT_OF_A_KILOGRAM
    kinds = (kind for kind, si in _SI.items() if dimension == registry().get_dimensionality(si))
    return next(((kind, factor / _size(_SI[kind])) for kind in kinds), None)


@lru_cache(maxsize=4096)
def _root_units(name: str) -> tuple[Fraction | None, Any]:
    """The size in pint's root units, and which root units these are."""
    factor: Any
    factor, units = registry().get_root_units(name)
    return (None if factor is None else Fraction(factor)), units


def _size(name: str) -> Fraction:
    factor, _units = _root_units(name)
    assert factor is not None
    return factor


def _is_metric(size: Fraction, kind: str) -> bool | None:
    """True if a unit is a power of ten of the SI unit, or of a kilogram's weight."""
    if kind in _OF_NO_SYSTEM:
        return None
    sizes = (size, size / _WEIGHT_OF_A_KILOGRAM) if kind == "load" else (size,)
    return any(_is_power_of_ten(each) for each in sizes)


def _is_power_of_ten(size: Fraction) -> bool:
    top, bottom = size.numerator, size.denominator
    return 1 in (top, bottom) and re.fullmatch("10*", str(top * bottom)) is not None
