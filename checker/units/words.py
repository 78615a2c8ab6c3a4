"""Finds the unit of a word: in the table, among the organisation's own units, or in pint.

The organisation's units apply to its own profiles, logs and commands. They are kept in a context
variable, as Python keeps its decimal precision: schemas, log readers and loads all read quantities,
and passing the units through all of them would touch every call.
"""

import re
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from contextvars import ContextVar
from functools import lru_cache, partial, wraps
from typing import Any, Final, ParamSpec, TypeVar

from msgspec import Struct

from checker.units.kinds import KIND_OF, KINDS, SI_UNITS, UNIT_OF, US_UNITS, Kind
from checker.units.table import FACTORS

_Arguments = ParamSpec("_Arguments")
_Result = TypeVar("_Result")

WORD: Final = re.compile(r"[A-Za-z]+(?:_[A-Za-z]+)*")
"""The form of a unit of one word; nothing else is passed to pint."""
LONGEST_WORD: Final = 40

# What to write for a word with more than one size. pint would assume the American one.
_TON: Final = "'t' (1000 kg), 'short_ton' (2000 lb) or 'long_ton' (2240 lb)"
_HUNDREDWEIGHT: Final = "'short_hundredweight' (100 lb) or 'long_hundredweight' (112 lb)"
_POUNDS: Final = "'lb' or 'kg'"
_GALLON: Final = "'US_liquid_gallon' or 'imperial_gallon'"
_QUART: Final = "'US_liquid_quart' or 'imperial_quart'"
_VOLUME: Final = "'L' or 'ft3'"
_SURVEYED: Final = "'ft' or 'm'"
AMBIGUOUS: Final[Mapping[str, str]] = {
    "ton": _TON,
    "force_ton": _TON,
    "ton_force": _TON,
    "hundredweight": _HUNDREDWEIGHT,
    "cwt": _HUNDREDWEIGHT,
    "quarter": _POUNDS,
    "bag": _POUNDS,
    "gallon": _GALLON,
    "gal": _GALLON,
    "quart": _QUART,
    "pint": _VOLUME,
    "gill": _VOLUME,
    "cup": _VOLUME,
    "minim": _VOLUME,
    "fluid_ounce": _VOLUME,
    "fluid_dram": _VOLUME,
    "barrel": _VOLUME,
    "hogshead": _VOLUME,
    "bushel": _VOLUME,
    "peck": _VOLUME,
    "teaspoon": _VOLUME,
    "tablespoon": _VOLUME,
    "chain": _SURVEYED,
    "link": _SURVEYED,
    "league": "'mi' or 'km'",
    "mil": "'thou' (0.001 in), 'mm' or 'deg'",
    "grade": "'deg' or '%'",
    "month": "'day' or 'h'",
}


class Unit(Struct, frozen=True):
    """A unit that quantities may be stated in.

    `word` is its name in reports and `spellings` are other words for it; `top` / `bottom` is its
    exact size in N, m, s and rad. `metric` is None where it belongs to neither system.
    """

    word: str
    kind: str
    top: int
    bottom: int
    metric: bool | None
    spellings: tuple[str, ...] = ()

    @property
    def size(self) -> float:
        """Its size in N, m, s and rad."""
        return self.top / self.bottom


_IN_TABLE: Final = {
    unit: Unit(unit, KIND_OF[unit].name, *FACTORS[unit], metric=_metric)
    for unit in FACTORS.keys() & KIND_OF.keys()  # not equal while a unit is being added
    for _metric in (True if unit in SI_UNITS else False if unit in US_UNITS else None,)
}
_OWN: ContextVar[tuple[Unit, ...]] = ContextVar("own units", default=())


def find_unit(word: str) -> Unit | None:
    """The unit of that word; None if there is none, or if the word has more than one size."""
    known = UNIT_OF.get(word)
    if known is not None:
        return _IN_TABLE[known]
    own = _by_word(_OWN.get()).get(word)
    if own is not None:
        return own
    if len(word) > LONGEST_WORD or not WORD.fullmatch(word):
        return None
    # Imported for words outside the table: pint and its registry cost more than a whole check.
    from checker.units.from_pint import resolve

    return resolve(word)


def own_units() -> tuple[Unit, ...]:
    """The organisation's units now in force."""
    return _OWN.get()


def use_own_units(units: tuple[Unit, ...]) -> None:
    """Put the organisation's units in force for this thread; they replace the earlier ones."""
    _OWN.set(units)


@contextmanager
def with_own_units(units: tuple[Unit, ...]) -> Iterator[None]:
    """Put these units of the organisation in force inside a `with` block; `()` means none."""
    before = _OWN.set(units)
    try:
        yield
    finally:
        _OWN.reset(before)


def call_with_own_units(
    units: tuple[Unit, ...], function: Callable[..., _Result], *arguments: object
) -> _Result:
    """The result of a function called under these units; for work sent to another process."""
    with with_own_units(units):
        return function(*arguments)


def cached_by_units(
    maxsize: int, *, typed: bool = False
) -> Callable[[Callable[_Arguments, _Result]], Callable[_Arguments, _Result]]:
    """`lru_cache` for a function that reads quantities: each set of own units has its own cache."""

    def decorate(function: Callable[_Arguments, _Result]) -> Callable[_Arguments, _Result]:
        read: Callable[..., _Result] = function

        @lru_cache(maxsize, typed)
        def under(_units: tuple[Unit, ...], *arguments: Any) -> _Result:
            return read(*arguments)

        @wraps(function)
        def call(*arguments: _Arguments.args, **named: _Arguments.kwargs) -> _Result:
            assert not named
            return under(_OWN.get(), *arguments)

        return call

    return decorate


def other_case(word: str, kind: Kind | None) -> str | None:
    """The accepted spelling that differs from a word only in upper and lower case."""
    found = _by_folded_word(kind, _OWN.get()).get(word.casefold())
    if found is not None:
        return found
    unit = find_unit(word.lower())
    return word.lower() if unit and (kind is None or unit.kind == kind.name) else None


def why_ambiguous(word: str) -> str:
    """What to write in place of a word with more than one size, and why."""
    return f"{AMBIGUOUS[word]}, because a '{word}' has more than one size"


def fault_of_unit(word: str, kind: Kind | None) -> tuple[str | None, str | None]:
    """What is wanted in place of a word that is no unit, and the word to suggest; None for none."""
    ambiguous = ambiguous_word(word)
    if ambiguous is not None:
        return why_ambiguous(ambiguous), None
    spelling = other_case(word, kind)
    if spelling is not None:
        return f"the unit written '{spelling}' (capitals and small letters count)", spelling
    return None, near_word(word, kind)


@cached_by_units(4096)
def near_word(word: str, kind: Kind | None) -> str | None:
    """The nearest unit word, of a kind or of any kind, to a word that is no unit."""
    # Imported here: it is needed for a misspelt unit only, and start-up is counted in ms.
    from difflib import get_close_matches

    near = partial(get_close_matches, word[:LONGEST_WORD], n=1)
    usual = list(_by_folded_word(kind, _OWN.get()).values())
    # A rarer unit is suggested only if it is nearer to the word. Comparing with all
    # of them would be most of what a log of misspelt units costs.
    rarer = [each for each in _rarer(kind) if each[:1] == word[:1]]
    found = near([*usual, *rarer], cutoff=0.75) or near(usual, cutoff=0.6)
    return UNIT_OF.get(found[0], found[0]) if found else None


def ambiguous_word(text: str) -> str | None:
    """The word of a text that has more than one size, without its plural s."""
    found = _AMBIGUOUS.search(text)
    return found[1].lower() if found else None


_AMBIGUOUS: Final = re.compile(
    rf"(?<![A-Za-z_])({'|'.join(AMBIGUOUS)})s?(?![A-Za-z_])", re.IGNORECASE
)


def _rarer(kind: Kind | None) -> tuple[str, ...]:
    from checker.units.from_pint import words_of

    return words_of(kind.name) if kind else ()


@lru_cache(maxsize=16)
def _by_word(own: tuple[Unit, ...]) -> dict[str, Unit]:
    """The organisation's units by every spelling, with the plural s that pint accepts too."""
    return {
        spelling: unit
        for unit in own
        for word in (unit.word, *unit.spellings)
        for spelling in (word, f"{word}s")
    }


@lru_cache(maxsize=64)
def _by_folded_word(kind: Kind | None, own: tuple[Unit, ...]) -> dict[str, str]:
    spellings = {word: _IN_TABLE[unit].kind for word, unit in UNIT_OF.items()}
    spellings |= {unit.word: unit.kind for unit in own}
    # Of two words that differ only in letter case, the first is used.
    return {
        word.casefold(): word
        for word, its in reversed(spellings.items())
        if kind is None or KINDS[its] is kind
    }
