"""The schema of profiles is made from the records, and a field declared wrongly is refused."""

import json
from pathlib import Path
from typing import Annotated

import pytest
from msgspec import Struct

from checker.documents import schemas
from checker.documents.schemas import definition
from checker.facts.catalogue import catalogue
from checker.load import profile_schema
from checker.load.model import Load
from checker.load.model.field_types import NOT_WRITTEN, Keywords, Length, Weight, example, fact
from checker.load.profile_schema import text_of_schema
from checker.units.arithmetic import NOT_STATED, Number


def test_the_schema_file_is_what_the_records_make() -> None:
    stands = Path(schemas.__file__).with_name("profile.json").read_text("utf-8")
    assert stands == text_of_schema(), "run `python -m checker.load.profile_schema`"


def test_every_question_of_the_walk_around_is_a_fact() -> None:
    named = {f"walkaround.{field}" for field in definition("walkaround")["properties"]}
    assert named - catalogue().keys() == set()


class Winch(Struct, frozen=True, kw_only=True):
    """The loading winch.

    This paragraph is for whoever reads the code.
    """

    name: Annotated[str, NOT_WRITTEN]
    rating: Annotated[
        Weight, example("3000 lb"), Keywords(required=True), fact("winch.line_rating")
    ] = NOT_STATED
    """Line pull on
    its plate."""


def test_a_record_gives_its_definition() -> None:
    """What a reader of JSON Schema would write for it by hand."""
    assert json.loads(json.dumps(profile_schema._definition("winch", Winch))) == {
        "type": "object",
        "record": "winch",
        "description": "The loading winch.",
        "properties": {
            "rating": {
                "description": "Line pull on its plate.",
                "type": "string",
                "quantity": "load",
                "sign": "positive",
                "examples": ["3000 lb"],
                "fact": {"name": "winch.line_rating", "label": "line rating"},
            }
        },
        "additionalProperties": False,
        "required": ["rating"],
    }


class OfNoKind(Struct):
    """A field of a type that no file can hold."""

    drum: Number = NOT_STATED
    """Diameter of the drum."""


class OfARecordNotListed(Struct):
    """A record that the schema has no name for."""

    winch: Winch


class WithoutMeaning(Struct):
    """A field that says nothing."""

    drum: Length = NOT_STATED


class ToldTwice(Struct):
    """A record described at the field as well."""

    load: Load
    """The load."""


@pytest.mark.parametrize("record", [OfNoKind, OfARecordNotListed])
def test_a_field_of_an_undeclared_type_is_refused(record: type[Struct]) -> None:
    with pytest.raises(TypeError, match=r"is neither in field_types\.py nor a record in RECORDS$"):
        profile_schema._definition("hoist", record)


@pytest.mark.parametrize("record", [WithoutMeaning, ToldTwice])
def test_a_field_has_its_meaning_in_one_place(record: type[Struct]) -> None:
    with pytest.raises(TypeError, match=r"^hoist\.(drum|load): wanted one docstring"):
        profile_schema._definition("hoist", record)
