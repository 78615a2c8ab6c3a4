"""The kinds of quantity, their units, and every accepted spelling of these."""

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

from msgspec import Struct

SECONDS_OF_A_DAY: Final = 86_400.0
OF_A_DAY: Final = (0, 0, 99)
"""The dimension of days. No other quantity has it: a day compares with days alone."""


class Kind(Struct, frozen=True):
    """One kind of quantity.

    `dimension` holds the exponents of load, length and time. `units` are in the order in which
    messages list them; `us` and `si` are the usual display units. `noun` and `example` are for
    messages.
    """

    name: str
    dimension: tuple[int, int, int]
    units: tuple[str, ...]
    us: str
    si: str
    noun: str
    example: str

    @property
    def wanted(self) -> str:
        """The kind for an error message, with an example and every unit."""
        text = f"{self.noun} such as '{self.example}'"
        if not self.units:
            return text
        return f"{text} (in {' or '.join(', '.join(self.units).rsplit(', ', 1))})"


_ALL_KINDS = (
    Kind(
        "load",
        (1, 0, 0),
        ("lb", "kg", "t", "kN", "daN", "lbf", "N"),
        "lb",
        "kg",
        "a weight or rating",
        "2150 lb",
    ),
    Kind(
        "length",
        (0, 1, 0),
        ("ft", "in", "m", "mm", "cm", "yd", "mi", "km"),
        "in",
        "m",
        "a length",
        "62.5 in",
    ),
    Kind("angle", (0, 0, 0), ("deg", "rad"), "deg", "deg", "an angle", "12 deg"),
    Kind("ratio", (0, 0, 0), ("%",), "%", "%", "a share", "12 %"),
    Kind("gravities", (0, 0, 0), ("g",), "g", "g", "a multiple of gravity", "0.8 g"),
    Kind("number", (0, 0, 0), (), "", "", "a bare number", "0.4"),
    Kind("count", (0, 0, 0), (), "", "", "a whole number, 0 or more,", "4"),
    Kind("duration", (0, 0, 1), ("h", "min", "s"), "h", "h", "a duration", "3 h 30 min"),
    Kind("speed", (0, 1, -1), ("mph", "km/h", "ft/s", "m/s"), "mph", "km/h", "a speed", "55 mph"),
    Kind("pressure", (1, -2, 0), ("psi", "kPa", "bar"), "psi", "kPa", "a pressure", "65 psi"),
    Kind(
        "moment",
        (1, 1, 0),
        ("lbf*in", "lbf*ft", "N*m", "kN*m", "lb*in", "lb*ft"),
        "lbf*ft",
        "N*m",
        "a moment",
        "1200 lbf*in",
    ),
    Kind(
        "spring_rate",
        (1, -1, 0),
        ("lb/in", "lbf/in", "N/mm", "kN/m", "N/m"),
        "lb/in",
        "N/mm",
        "a spring rate",
        "550 lb/in",
    ),
    Kind(
        "acceleration",
        (0, 1, -2),
        ("ft/s2", "m/s2"),
        "ft/s2",
        "m/s2",
        "an acceleration",
        "16 ft/s2",
    ),
    Kind("day", OF_A_DAY, (), "", "", "a day", "1988-07-01"),  # in seconds since 0001-01-01
    Kind("volume", (0, 3, 0), ("ft3", "m3"), "ft3", "m3", "a volume", "40 ft3"),
)
KINDS: Final[Mapping[str, Kind]] = MappingProxyType({kind.name: kind for kind in _ALL_KINDS})

BASE_UNITS: Final[Mapping[str, str]] = {
    "load": "N",
    "length": "m",
    "duration": "s",
    "speed": "m/s",
    "acceleration": "m/s2",
    "pressure": "Pa",
    "angle": "rad",
    "moment": "N*m",
    "spring_rate": "N/m",
    "volume": "m3",
}
"""The unit in which documents for programs give each kind of quantity; the others have none."""

KIND_OF: Final = {unit: kind for kind in _ALL_KINDS for unit in kind.units}

# The system a unit belongs to; units in neither list (%, g, deg, rad, h, min, s) belong to none.
US_UNITS: Final = frozenset(
    {
        "lb",
        "lbf",
        "ft",
        "in",
        "yd",
        "mi",
        "mph",
        "ft/s",
        "psi",
        "lbf*in",
        "lbf*ft",
        "lb*in",
        "lb*ft",
        "lb/in",
        "lbf/in",
        "ft/s2",
        "ft3",
    }
)
SI_UNITS: Final = frozenset(
    {
        "kg",
        "t",
        "kN",
        "daN",
        "N",
        "m",
        "mm",
        "cm",
        "km",
        "km/h",
        "m/s",
        "kPa",
        "bar",
        "N*m",
        "kN*m",
        "N/mm",
        "kN/m",
        "N/m",
        "m/s2",
        "m3",
    }
)

METRIC_LENGTHS: Final = SI_UNITS.intersection(KINDS["length"].units)

OTHER_SPELLINGS: Final = {
    "lb": "lbs pound pounds",
    "kg": "kilogram kilograms",
    "t": "tonne tonnes",
    "N": "newton newtons",
    "ft": "' foot feet",
    "in": '" inch inches',
    "m": "metre metres meter meters",
    "mm": "millimetre millimetres millimeter millimeters",
    "cm": "centimetre centimetres centimeter centimeters",
    "yd": "yard yards",
    "mi": "mile miles",
    "km": "kilometre kilometres kilometer kilometers",
    "deg": "° degree degrees",
    "rad": "radian radians",
    "%": "percent",
    "h": "hr hrs hour hours",
    "min": "mins minute minutes",
    "s": "sec second seconds",
    "mph": "mi/h",
    "lbf*in": "lbf·in",
    "lbf*ft": "lbf·ft",
    "N*m": "N·m",
    "kN*m": "kN·m",
    "lb*in": "lb·in",
    "lb*ft": "lb·ft",
    "ft/s2": "ft/s² ft/s^2",
    "m/s2": "m/s² m/s^2",
    "ft3": "ft³ ft^3",
    "m3": "m³ m^3",
}
UNIT_OF: Final = {unit: unit for unit in KIND_OF} | {
    spelling: unit for unit, others in OTHER_SPELLINGS.items() for spelling in others.split()
}
