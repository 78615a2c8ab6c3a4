"""The types of profile fields: the type in the record, and how people write it in a file.

A field is declared once, as an attribute of a record: its type is one of those below, a `Literal`
of the words it may be, or another record; the docstring under it is its meaning. The JSON Schema,
the plain fact and the lists in the documentation are made from that.
"""

from typing import Annotated, Literal, TypeAlias

from msgspec import Struct

from checker.units.arithmetic import Number


class PlainFact(Struct, frozen=True):
    """The name and the label of the fact that repeats a field."""

    name: str
    label: str


class Keywords(
    Struct,
    frozen=True,
    kw_only=True,
    omit_defaults=True,
    rename={
        "min_length": "minLength",
        "max_length": "maxLength",
        "min_items": "minItems",
        "max_items": "maxItems",
        "unique_items": "uniqueItems",
        "max_properties": "maxProperties",
        "property_names": "propertyNames",
    },
):
    """JSON Schema keywords of a type; in an `Annotated` the rightmost value of a keyword counts."""

    type: str | tuple[str, ...] | None = None
    quantity: str | None = None
    """A kind of quantity that the unit tables know."""
    sign: Literal["positive", "not negative"] | None = None
    word_for_none: str | None = None
    """What people write where there is none, held as infinite; left out is still not stated."""
    minimum: int | None = None
    maximum: int | None = None
    min_length: int | None = None
    max_length: int | None = None
    pattern: str | None = None
    format: Literal["date"] | None = None
    jurisdiction: Literal["trip"] | None = None
    min_items: int | None = None
    max_items: int | None = None
    unique_items: bool = False
    max_properties: int | None = None
    property_names: "Keywords | None" = None
    enum: tuple[str, ...] | None = None
    examples: tuple[object, ...] | None = None
    description: str | None = None
    """Only where a docstring cannot stand: of the entries of a list, of a type used often."""
    required: bool = False
    """A file without the field is refused."""
    fact: PlainFact | None = None
    checked: bool = True
    """False for what no rule reads, and everything in it."""


def fact(name: str, *, label: str | None = None) -> Keywords:
    """Declares that the field is a fact; the label defaults to the last part of the name."""
    return Keywords(fact=PlainFact(name, label or name.partition(".")[2].replace("_", " ")))


def example(*texts: str | tuple[str, ...]) -> Keywords:
    """Declares the examples of a field, in place of those of its type."""
    return Keywords(examples=texts)


NOT_WRITTEN = "not written in the file"
"""Marks an attribute that is no field: it follows from others, or from where the record stands."""

REQUIRED = Keywords(required=True)

BY_NAME = Keywords(
    type="object",
    property_names=Keywords(
        pattern="^[a-z0-9][a-z0-9 _-]*$",
        description="A name in small letters, digits, spaces, hyphens and underscores.",
    ),
)
"""Records that the file holds as a mapping, each under a name that the crew chooses."""

FILE_OR_FIELDS = Keywords(type=("string", "object"))
"""A record for which the file may name another file that holds it."""

NOT_CHECKED = Keywords(checked=False)
"""A part of a file that a check does not read: no fact, no column of a haul log."""

REFERRED_TO = Keywords(type="string")
"""A record that stands elsewhere in the load; the file names it."""


def _text(kind: str, *examples: str, sign: Literal["positive", "not negative"] | None) -> Keywords:
    return Keywords(type="string", quantity=kind, sign=sign, examples=examples)


# Numbers are held in newtons, metres, seconds and radians, or as plain shares.
Length: TypeAlias = Annotated[
    Number, _text("length", "62 1/2 in", "5 ft 2 in", "1.57 m", sign="positive")
]
LengthOrZero: TypeAlias = Annotated[
    Number, _text("length", "0 in", "3 1/2 in", sign="not negative")
]
SignedLength: TypeAlias = Annotated[Number, _text("length", "62 in", "-20 in", "1.57 m", sign=None)]
Weight: TypeAlias = Annotated[Number, _text("load", "2150 lb", "975 kg", sign="positive")]
"""A weight, rating, strength or tension: one kind of quantity, called load."""
WeightOrZero: TypeAlias = Annotated[Number, _text("load", "0 lb", "412 lb", sign="not negative")]
SpringRate: TypeAlias = Annotated[Number, _text("spring_rate", "1800 lb/in", sign="positive")]
Pressure: TypeAlias = Annotated[Number, _text("pressure", "65 psi", sign="positive")]
Speed: TypeAlias = Annotated[Number, _text("speed", "55 mph", sign="positive")]
Duration: TypeAlias = Annotated[Number, _text("duration", "1 h 30 min", sign="positive")]
DurationOrZero: TypeAlias = Annotated[Number, _text("duration", "15 min", sign="not negative")]
Share: TypeAlias = Annotated[Number, _text("ratio", "4 %", sign="positive")]
ShareOrZero: TypeAlias = Annotated[Number, _text("ratio", "10 %", sign="not negative")]
Count: TypeAlias = Annotated[
    Number, Keywords(type="integer", quantity="count", minimum=0, maximum=1000)
]
Coefficient: TypeAlias = Annotated[
    Number, Keywords(type="number", quantity="number", minimum=0, maximum=2, examples=(0.3,))
]
"""A coefficient of friction."""
CalendarDay: TypeAlias = Annotated[Number, _text("day", "2016-05-01", sign=None)]
"""A day that rules compare; as a number, so that it may differ by row."""
Answer: TypeAlias = Annotated[Number, Keywords(enum=("yes", "no"))]
"""1 is yes, 0 is no."""
Day: TypeAlias = Annotated[str, Keywords(type="string", format="date")]
Text: TypeAlias = Annotated[str, Keywords(type="string", min_length=1, max_length=300)]
Title: TypeAlias = Annotated[Text, Keywords(description="What people call it.")]
Id: TypeAlias = Annotated[
    str,
    Keywords(
        type="string",
        min_length=1,
        max_length=60,
        description="Its plate, fleet or serial number, in quotes if it is all digits. A season is "
        "counted by it, so that two of one title stay two.",
        examples=("T-104",),
    ),
]
"""What tells a trailer, tow vehicle or machine from all others."""
