"""Units that an organisation defines in its settings, in the form of pint's definitions.

    bale = 40 lb
    pallet = 48 bale = skid

The word, its size, then other words for it. The size is one quantity as profiles state it, not an
expression of pint's, and may use units that the table, pint or an earlier line has.
"""

from collections.abc import Iterator, Sequence, Set
from functools import cache
from pathlib import Path
from typing import Final

from msgspec import Struct

from checker.units.kinds import UNIT_OF
from checker.units.parsing import UnitError, parse_size
from checker.units.words import AMBIGUOUS, LONGEST_WORD, WORD, Unit, with_own_units

EXAMPLE: Final = "bale = 40 lb"
_NO_OTHER_WORD: Final = "_"
"""pint's sign for no symbol; otherwise the first of the other words is the symbol."""


class DefinitionFault(Struct, frozen=True):
    """What is wrong with the definition at `index`, in the words of a problem."""

    index: int
    found: str
    wanted: str
    suggestion: str | None = None


class _RefusedError(Exception):
    def __init__(self, found: str, wanted: str, suggestion: str | None = None) -> None:
        self.parts = found, wanted, suggestion
        super().__init__(found)


def read_definitions(lines: Sequence[str]) -> tuple[tuple[Unit, ...], list[DefinitionFault]]:
    """The units that these lines define, and the problems found in the lines."""
    units: list[Unit] = []
    faults: list[DefinitionFault] = []
    taken: set[str] = set()
    for index, line in enumerate(lines):
        try:
            unit = _unit(line, tuple(units), taken)
        except _RefusedError as refused:
            faults.append(DefinitionFault(index, *refused.parts))
        else:
            units.append(unit)
            taken.update(_forms((unit.word, *unit.spellings)))
    return tuple(units), faults


def _unit(line: str, earlier: tuple[Unit, ...], taken: Set[str]) -> Unit:
    word, *rest = (part.strip() for part in line.split("="))
    if not rest:
        raise _RefusedError(f"'{line}'", f"a word, = and its size, such as '{EXAMPLE}'")
    size, *others = rest
    words = [word, *(other for other in others if other != _NO_OTHER_WORD)]
    for each in words:
        _ensure_free(each, taken)
    try:
        with with_own_units(earlier):
            top, bottom, unit = parse_size(size)
    except UnitError as error:
        suggestion = error.suggestion and f"'{word} = {error.suggestion}'"
        wanted = f"the size of one {word}, such as '40 lb', in known units or those of lines above"
        raise _RefusedError(f"'{error.found}'", wanted, suggestion) from error
    if top <= 0:
        raise _RefusedError(f"'{size}'", "a size of more than zero")
    return Unit(word, unit.kind, top, bottom, unit.metric, tuple(words[1:]))


def _ensure_free(word: str, taken: Set[str]) -> None:
    if not WORD.fullmatch(word) or len(word) > LONGEST_WORD:
        wanted = f"a word of at most {LONGEST_WORD} letters, with _ between its parts"
        raise _RefusedError(f"'{word}'", wanted)
    if not taken.isdisjoint(_forms([word])):
        raise _RefusedError(f"'{word}', which an earlier line defines", "each word once")
    # In any letter case: every person would read `Lb` as pounds.
    known, prefixes = _known()
    plain = word.casefold().removesuffix("s")
    without = (plain.removeprefix(each) for each in prefixes)
    if word.casefold() in known or not known.isdisjoint((plain, *without)):
        raise _RefusedError(f"'{word}', which is a unit already", "a word of your own")


def _forms(words: Sequence[str]) -> Iterator[str]:
    """The words with and without a plural s, and in lower case."""
    for word in words:
        yield word.casefold()
        yield word.casefold().removesuffix("s")
        yield f"{word.casefold()}s"


@cache
def _known() -> tuple[Set[str], Set[str]]:
    """Every word that is already a unit, in lower case, and the prefixes words may have."""
    of_pint = Path(__file__).with_name("pint_words.txt").read_text("utf-8").split()
    prefixes = {word.removesuffix("-") for word in of_pint if word.endswith("-")}
    return {word.casefold() for word in (*UNIT_OF, *AMBIGUOUS, *of_pint)}, prefixes
