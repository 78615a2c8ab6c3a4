"""A template is valid as it stands, shows every field, and states what was stated and no more."""

import string
from collections.abc import Callable, Iterator, Mapping
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from checker.documents.problems import ProblemsFoundError
from checker.documents.reader import read_bytes
from checker.documents.resources import shipped_folder
from checker.documents.schemas import definition, resolved
from checker.documents.validate import validate
from checker.load.build import read_profile
from checker.rulebooks.loading import load_rulebooks
from checker.upkeep.drafting.drafts import drafts
from checker.upkeep.drafting.text import draft_text, faults, to_yaml
from checker.upkeep.proving import prove

from .conftest import DAY, KINDS, PROFILE_KINDS, uncommented

FixedData = Callable[[str], dict[str, Any]]


@pytest.mark.parametrize("kind", KINDS)
def test_a_template_validates_and_states_its_minimum_only(kind: str) -> None:
    draft = drafts(DAY)[kind]
    document = read_bytes(draft_text(draft, draft.stated).encode(), "new")
    assert document.problems == []
    assert validate(document, wanted_kind=kind) == []
    assert document.data == draft.stated


def _schema_fields(node: Mapping[str, Any], path: tuple[str, ...]) -> Iterator[tuple[str, ...]]:
    """Every field of the profile schema down to lists, names chosen by the crew as `*`."""
    node = resolved(node)
    for name, inner in node.get("properties", {}).items():
        yield (*path, name)
        yield from _schema_fields(inner, (*path, name))
    named = node.get("additionalProperties")
    if isinstance(named, dict):
        yield from _schema_fields(named, (*path, "*"))


def _shown_fields(data: Any, path: tuple[str, ...], node: Any) -> Iterator[tuple[str, ...]]:
    node = resolved(node)
    for name, inner in data.items() if isinstance(data, dict) else ():
        chosen = name not in node.get("properties", {})
        at = (*path, "*" if chosen else name)
        yield at
        below = node["additionalProperties"] if chosen else node["properties"][name]
        yield from _shown_fields(inner, at, below)


@pytest.mark.parametrize("kind", PROFILE_KINDS)
def test_a_template_of_a_profile_shows_every_field_of_the_schema(kind: str) -> None:
    draft = drafts(DAY)[kind]
    shown = set(
        _shown_fields(uncommented(draft_text(draft, draft.stated)).data, (), definition(kind))
    )
    assert set(_schema_fields(definition(kind), ())) - shown == set()


@pytest.mark.parametrize("kind", PROFILE_KINDS)
def test_every_example_in_a_template_is_valid(kind: str, every_field: FixedData) -> None:
    assert faults(to_yaml(every_field(kind)), kind) == []


def test_the_examples_of_a_load_refer_to_bundled_files(
    every_field: FixedData, tmp_path: Path
) -> None:
    file = tmp_path / "load.yaml"
    file.write_text(to_yaml(every_field("load")))
    # Every question is answered with yes there, those about parts that the trailer lacks as well:
    # that is told only once all references could be followed.
    with pytest.raises(ProblemsFoundError, match="beside") as found:
        read_profile(file, shipped_folder("profiles"))
    assert [each for each in found.value.problems if " beside " not in each.found] == []


def test_a_choice_left_open_is_refused_and_not_taken_for_an_answer() -> None:
    draft = drafts(DAY)["carrier"]
    text = draft_text(draft, draft.stated).replace("# government:", "government:")
    (problem,) = faults(text, "carrier")
    assert problem.words == "found nothing after the colon; wanted one of: yes, no"


@pytest.mark.parametrize("day", [DAY, date(2024, 2, 29), date(2026, 1, 1)])
def test_the_rulebook_proves(day: date, tmp_path: Path) -> None:
    draft = drafts(day)["rulebook"]
    (tmp_path / "new.yaml").write_text(draft_text(draft, draft.stated))
    result = prove(load_rulebooks(tmp_path, with_proofs=True))
    assert result.proved
    # One figure up and down, its first day later and earlier, one comparison made strict.
    assert (result.rules, result.proofs, result.nudges) == (1, 4, 5)


PRINTABLE = st.text(st.characters(exclude_categories=["Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"]))


@given(PRINTABLE.filter(lambda text: 1 <= len(text) <= 300 and text.isprintable()))
@example("no")
@example("Mower: the new one")
@example("- starts like an entry")
@example('it\'s "both" # and a hash')
@example("2026-06-30")
@example("2026-13-45")
@example("017")
@example("1e5")
@example("0x1F")
@example("12:30:45")
@example("<<")
@example("=")
@example("~")
@example("null")
@example("---")
@example("...")
@example("? x")
@example("&a *a !a %a @a `a")
@example(" a leading space")
@example("a trailing space ")
@example("{a: b}, [c]")
@example("Bagger für Hügel — 挖土機 🚜")
@example("x" * 300)
def test_any_printable_title_survives(title: str) -> None:
    draft = drafts(DAY)["carrier"]
    document = read_bytes(draft_text(draft, {**draft.stated, "title": title}).encode(), "new")
    assert document.data == {"kind": "carrier", "title": title}


@given(st.text(st.sampled_from(string.printable), min_size=1, max_size=40))
def test_a_title_with_control_characters_survives_or_is_refused(title: str) -> None:
    draft = drafts(DAY)["carrier"]
    stated = {**draft.stated, "title": title}
    if title.translate({ord(letter): None for letter in "\x0b\x0c\r"}) != title:
        with pytest.raises(ProblemsFoundError, match="control character"):
            draft_text(draft, stated)
    else:
        assert read_bytes(draft_text(draft, stated).encode(), "new").data == stated


def _pruned(data: Any, keep: Callable[[], bool]) -> Any:
    """Some of the data: leaves left out by chance, and whatever is empty then."""
    if isinstance(data, dict):
        inner = {key: _pruned(value, keep) for key, value in data.items()}
        return {key: value for key, value in inner.items() if value is not None} or None
    if isinstance(data, list) and data and isinstance(data[0], dict):
        # A variance, and what a crew has so many of, stands whole or not at all.
        if "until" in data[0] or "count" in data[0]:
            return data if keep() else None
        return [item for item in (_pruned(each, keep) for each in data) if item] or None
    return data if keep() else None


@pytest.mark.parametrize("kind", PROFILE_KINDS)
@settings(max_examples=25)
@given(seed=st.randoms(use_true_random=False), share=st.sampled_from([0.1, 0.5, 0.9]))
def test_what_is_stated_is_what_is_read_back(
    kind: str, seed: Any, share: float, every_field: FixedData
) -> None:
    kept = _pruned(every_field(kind), lambda: seed.random() < share) or {}
    stated = {**kept, "kind": kind, "title": "A title"}
    document = read_bytes(draft_text(drafts(DAY)[kind], stated).encode(), "new")
    assert document.problems == []
    assert document.data == stated


def test_units_stay_as_typed() -> None:
    draft = drafts(DAY)["trailer"]
    stated = {**draft.stated, "gvwr": "1,355 kg ± 5 kg", "deck": {"front": "5' 2\"", "rear": "4 m"}}
    text = draft_text(draft, stated)
    lines = [line.partition("  # ")[0].rstrip() for line in text.split("\n")]
    assert "gvwr: 1,355 kg ± 5 kg" in lines
    assert "  front: 5' 2\"" in lines
    assert "  rear: 4 m" in lines
    assert "  # width: 76 in" in text


def test_the_fields_that_matter_most_come_first_and_others_under_a_heading() -> None:
    draft = drafts(DAY)["trailer"]
    text = draft_text(draft, draft.stated)
    places = [text.index(f"\n{field}") for field in ("# gvwr:", "# axles:", "## F", "# note:")]
    assert places == sorted(places)


def test_each_remark_stands_once() -> None:
    draft = drafts(DAY)["trailer"]
    anchors = {name: {"x": "47 in"} for name in ("front-left", "front-right", "rear-left")}
    text = draft_text(draft, {**draft.stated, "anchors": anchors})
    assert text.count("# Behind the ball centre\n") == 1
    assert text.count("    x: 47 in") == 3
