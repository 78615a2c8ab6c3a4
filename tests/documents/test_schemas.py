"""The schema files themselves: sound, and complete in one piece for an editor."""

from collections.abc import Iterator
from typing import Any

import pytest
from jsonschema import Draft202012Validator
from referencing import Registry

from checker.documents import schemas
from checker.documents.schemas import (
    FAMILIES,
    HAUL,
    PROFILE,
    RULES,
    definition,
    families,
    field_description,
    schema,
    schema_id,
    schema_of_kind,
    schema_of_written,
    written_kinds,
)

DATED = {"value": "50 %", "from": "2004-01-01", "source": "cfr-49-393", "at": "393.106(d)"}
PROOF = {"name": "half", "given": {"a": 1}, "expect": "met", "origin": "by hand"}
RULE = {
    "id": "half",
    "title": "Half the weight",
    "question": "tiedowns",
    "requires": "a >= half",
    "thresholds": {"half": {"stricter": "higher", "values": [DATED]}},
    "source": "cfr-49-393",
    "at": "393.106(d)",
    "basis": "law",
    "level": "must",
    "because": "It may slide.",
    "fix": "Add a tiedown.",
    "proofs": [PROOF],
}
SOURCE = {
    "id": "cfr-49-393",
    "title": "Parts and accessories",
    "issuer": "a ministry",
    "edition": "2026",
    "jurisdiction": "US",
    "read_as": "text seen",
    "look_again": "2027-01-01",
}
ROW = {"device": "chain", "grade": "70", "size": "3/8 in", "working_load_limit": "6600 lb"}
RATINGS = {
    "id": "unmarked",
    "title": "Unmarked devices",
    "jurisdiction": "US",
    "source": "cfr-49-393",
    "at": "393.108",
    "from": "2004-01-01",
    "proved_on": "2026-05-14",
    "rows": [ROW],
    "proofs": [
        {"name": "a", "device": "chain", "size": "3/8 in", "expect": "6600 lb", "origin": "print"}
    ],
}
RULEBOOK = {
    "id": "securement",
    "title": "Securement",
    "jurisdiction": "US",
    "proved_on": "2026-05-14",
    "rules": [RULE],
}
COVERAGE = {
    "jurisdiction": "US",
    "title": "Federal rules",
    "source": "cfr-393",
    "paragraphs": [{"id": "393.100(a)", "home": "heading only", "reason": "It opens the part."}],
}
AMENDMENT = {
    "id": "crew",
    "title": "Crew policy",
    "layer": "company",
    "jurisdiction": "any",
    "repeals": [{"rule": "a-rule", "from": "2026-05-14", "common_practice": "yes"}],
}
LAW_ROW = {
    "place": "US-UT",
    "read": "text seen",
    "law": "Code",
    "section": "7-2",
    "edition": "2026",
    "cells": [{"shape": "heavy", "weight": "3000 lb"}],
}
LAW_TABLE = {
    "id": "brakes",
    "title": "Brakes",
    "jurisdiction": "US",
    "subject": "trailer brakes",
    "from": "2020-01-01",
    "look_again": "2027-01-01",
    "proved_on": "2026-05-14",
    "places": [LAW_ROW],
}
SHAPE = {
    "id": "heavy",
    "rule": "brakes",
    "title": "[place]: brakes [beyond] {weight}",
    "question": "limits",
    "requires": "a [within] weight",
    "limits": {"weight": {"kind": "load", "stricter": "lower"}},
    "choices": ["comparison"],
    "because": "It is the law.",
    "fix": "Add brakes.",
    "proofs": [{"name": "at", "given": {"a": "{weight}"}, "expect": "[at_limit]"}],
}
LAW_SHAPES = {"choices": {"comparison": {"over": {"within": "<="}}}, "shapes": [SHAPE]}
# A file of each kind, and the same with one fault that only its own definitions can tell.
GIVEN = {
    "rule": "chains-crossed",
    "because": "no other",
    "conditions": "slowly",
    "by": "M. Quill",
    "from": "2026-05-01",
    "until": "2026-06-01",
    "every_load": "yes",
}
VARIANCES = {"id": "crew", "title": "Crew", "variances": [GIVEN]}
GOOD_AND_BAD: dict[str, tuple[dict[str, Any], dict[str, Any]]] = {
    "load": ({"trailer": {"brakes": "electric"}}, {"trailer": {"brakes": "wooden"}}),
    "trailer": ({"anchors": {"front left": {"x": "5 ft"}}}, {"anchors": {"Front": {}}}),
    "tow-vehicle": ({"seats": 5}, {"seats": "five"}),
    "machine": ({"axles": {"front": {"weight": "900 lb"}}}, {"axles": {"middle": {}}}),
    "tiedown": ({"grade": "70"}, {"grade": 70}),
    "carrier": ({"government": "yes"}, {"government": True}),
    "gear": ({"blocks": [{"count": 4}]}, {"blocks": [{"strength": "2000 lbf"}]}),
    "rulebook": (RULEBOOK, {**RULEBOOK, "rules": []}),
    "sources": ({"sources": [SOURCE]}, {"sources": [{**SOURCE, "read_as": "hearsay"}]}),
    "haul": ({"load": "a", "date": "2026-05-14"}, {"load": "", "date": "2026-05-14"}),
    "haul-log": ({"columns": {"M": "crew"}}, {"columns": {"M": {"unit": "lb"}}}),
    "settings": ({"units": "si"}, {"units": "miles"}),
    "amendment": (AMENDMENT, {**AMENDMENT, "layer": "crew"}),
    "coverage": (COVERAGE, {**COVERAGE, "jurisdiction": "Utah"}),
    "law-table": (LAW_TABLE, {**LAW_TABLE, "places": [{**LAW_ROW, "read": "not found"}]}),
    "law-shapes": (LAW_SHAPES, {"shapes": [{**SHAPE, "limits": {}}]}),
    "variances": (VARIANCES, {**VARIANCES, "variances": [{**GIVEN, "crews": []}]}),
    "ratings": (RATINGS, {**RATINGS, "rows": [{**ROW, "device": "thread"}]}),
}


@pytest.mark.parametrize("name", FAMILIES)
def test_schema_files_are_valid_schemas(name: str) -> None:
    Draft202012Validator.check_schema(schema(name))


def test_every_kind_has_a_definition_of_its_own() -> None:
    assert set(families()) == set(GOOD_AND_BAD)
    for kind, family in families().items():
        assert schema(family)["$defs"][kind]["type"] == "object"


@pytest.mark.parametrize("kind", GOOD_AND_BAD)
def test_a_kinds_schema_stands_on_its_own(kind: str) -> None:
    # An empty registry has nothing to look references up in, and jsonschema goes to no network.
    whole = schema_of_kind(kind)
    validator = Draft202012Validator(whole, registry=Registry())
    good, bad = GOOD_AND_BAD[kind]
    assert list(validator.iter_errors({"kind": kind, **good})) == []
    assert len(list(validator.iter_errors({"kind": kind, **bad}))) == 1
    assert not validator.is_valid(good), "no kind"
    assert not validator.is_valid({"kind": "fence", **good}), "another kind"
    # Its definitions are those of the schema files, which are checked above.
    family = families()[kind]
    profile = {} if family == PROFILE else {"profile": schema(PROFILE)}
    assert whole["$defs"] == {**schema(family)["$defs"], **profile}
    Draft202012Validator.check_schema({**whole, "$defs": {}})


def mappings(node: object, at: str) -> Iterator[tuple[str, dict[str, Any]]]:
    if isinstance(node, dict):
        yield at, node
        for key, value in node.items():
            yield from mappings(value, f"{at}/{key}")
    elif isinstance(node, list):
        for index, value in enumerate(node):
            yield from mappings(value, f"{at}/{index}")


@pytest.mark.parametrize("name", written_kinds())
def test_what_is_written_is_described_and_readers_may_ignore_the_rest(name: str) -> None:
    promised = schema_of_written(name)
    Draft202012Validator.check_schema(promised)
    assert promised["$id"] == schema_id(name)
    for at, node in mappings(promised, name):
        assert node.get("additionalProperties") is not False, at
        if node.get("type") == "object":
            for member, inside in node.get("properties", {}).items():
                assert inside.get("description"), f"{at}: {member}"


@pytest.mark.parametrize("name", [PROFILE, RULES, HAUL])
def test_no_mapping_takes_unknown_keys_and_every_text_form_is_put_in_words(name: str) -> None:
    for at, node in mappings(schema(name)["$defs"], name):
        if node.get("type") == "object":
            assert node.get("additionalProperties") is not None, at
        if isinstance(node.get("pattern"), str):
            assert node["pattern"].startswith("^"), at
            assert node["pattern"].endswith("$"), at
            assert node["description"], at
        if isinstance(node.get("uniqueItems"), bool):
            # The project's own `uniqueItems` looks at words only.
            assert node["items"].get("enum"), at


def test_no_reference_leaves_the_schema_files() -> None:
    for name in (PROFILE, RULES):
        for at, node in mappings(schema(name), name):
            if isinstance(node.get("$ref"), str):
                assert node["$ref"].startswith(("#/$defs/", "urn:cinchbook:profile#/")), at


def test_description_of_a_field() -> None:
    assert (
        field_description("articles.1.placed.x")
        == (definition("placed")["properties"]["x"]["description"])
    )
    assert (
        field_description("trailer.axles.rear.rating")
        == (definition("axle")["properties"]["rating"]["description"])
    )


def test_a_schema_node_without_reference_is_itself() -> None:
    node = {"type": "string"}
    assert schemas.resolved(node) is node
    assert schemas.resolved({"$ref": "#/$defs/axle"}) is definition("axle")
