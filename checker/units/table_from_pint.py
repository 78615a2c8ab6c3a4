"""Writes the two files made from pint: `table.py`, and `pint_words.txt` with its words.

Run it after adding a unit to `checker.units.kinds`, or with a new version of pint:

    python -m checker.units.table_from_pint

pint works in fractions here, so no factor is rounded before it is frozen.
"""

import textwrap
from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING

from checker.units.from_pint import all_words, registry
from checker.units.kinds import KINDS, Kind
from checker.units.words import WORD

if TYPE_CHECKING:
    import pint

# A mass means its weight under standard gravity, so `lb` and `kg` are loads like `lbf` and
# `kN`. Standard gravity, 9.80665 m/s2, is pint's `standard_gravity`.
IN_PINT = {
    "lb": "pound * standard_gravity",
    "kg": "kilogram * standard_gravity",
    "t": "metric_ton * standard_gravity",
    "kN": "kilonewton",
    "daN": "decanewton",
    "lbf": "pound_force",
    "N": "newton",
    "ft": "foot",
    "in": "inch",
    "m": "meter",
    "mm": "millimeter",
    "cm": "centimeter",
    "yd": "yard",
    "mi": "mile",
    "km": "kilometer",
    "deg": "degree",
    "rad": "radian",
    "%": "percent",
    "g": "standard_gravity / standard_gravity",
    "h": "hour",
    "min": "minute",
    "s": "second",
    "mph": "mile / hour",
    "km/h": "kilometer / hour",
    "ft/s": "foot / second",
    "m/s": "meter / second",
    "psi": "pound_force / inch ** 2",
    "kPa": "kilopascal",
    "bar": "bar",
    "lbf*in": "pound_force * inch",
    "lbf*ft": "pound_force * foot",
    "N*m": "newton * meter",
    "kN*m": "kilonewton * meter",
    "lb*in": "pound * standard_gravity * inch",
    "lb*ft": "pound * standard_gravity * foot",
    "lb/in": "pound * standard_gravity / inch",
    "lbf/in": "pound_force / inch",
    "N/mm": "newton / millimeter",
    "kN/m": "kilonewton / meter",
    "N/m": "newton / meter",
    "ft/s2": "foot / second ** 2",
    "m/s2": "meter / second ** 2",
    "ft3": "foot ** 3",
    "m3": "meter ** 3",
}

_HEADER = '''"""Exact size of every accepted unit in N, m, s and rad, as (numerator, denominator).

Written by `python -m checker.units.table_from_pint`; change that, not this.
"""

from typing import Final

FACTORS: Final[dict[str, tuple[int, int]]] = {
'''


# pint lists no prefixes; it is asked about each of these.
_PREFIXES = (
    "quecto ronto yocto zepto atto femto pico nano micro milli centi deci deca deka hecto kilo "
    "mega giga tera peta exa zetta yotta ronna quetta kibi mebi gibi tebi pebi exbi zebi yobi semi "
    "demi sesqui"
)


def exact_factor(registry: "pint.UnitRegistry[Fraction]", unit: str, kind: Kind) -> Fraction:
    """The SI size of one `unit`; pint refuses a unit whose dimension is not that of `kind`."""
    load, length, time = kind.dimension
    si = f"newton ** {load} * meter ** {length} * second ** {time}"
    one = registry.Quantity(Fraction(1), registry.parse_units("dimensionless"))
    size = (one * registry.parse_expression(IN_PINT[unit])).to(si).magnitude
    return Fraction(size)


def table_text() -> str:
    """The whole text of checker/units/table.py."""
    lines = []
    for kind in KINDS.values():
        for unit in kind.units:
            factor = exact_factor(registry(), unit, kind)
            top, bottom = factor.numerator, factor.denominator
            line = f'    "{unit}": ({top}, {bottom}),\n'
            if len(line) > 100:
                line = f'    "{unit}": (\n        {top},\n        {bottom},\n    ),\n'
            lines.append(line)
    return _HEADER + "".join(lines) + "}\n"


def words_text() -> str:
    """The whole text of checker/units/pint_words.txt; its prefixes end in `-`."""
    words = {word for word in all_words() if WORD.fullmatch(word)}
    known = (each for each in _PREFIXES.split() if registry().parse_unit_name(f"{each}meter"))
    return (
        textwrap.fill(" ".join([*sorted(f"{each}-" for each in known), *sorted(words)]), 96) + "\n"
    )


if __name__ == "__main__":
    here = Path(__file__).parent
    (here / "table.py").write_text(table_text(), encoding="utf-8")
    (here / "pint_words.txt").write_text(words_text(), encoding="utf-8")
