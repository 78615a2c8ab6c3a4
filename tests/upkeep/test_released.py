"""The list of released ids: what it forbids, how it is read, and that it only grows."""

from pathlib import Path

import pytest

from checker.documents.problems import ProblemsFoundError
from checker.documents.resources import shipped_folder
from checker.upkeep.released import ReleasedIds, read_released, with_added
from tests.shipped import shipped_rules


def listing(folder: Path, text: str, *, whole: bool = True) -> ReleasedIds:
    (folder / "released-ids.txt").write_text(text)
    found = read_released(folder, whole=whole)
    assert found is not None
    return found


def told(found: ReleasedIds, *rule_ids: str) -> list[str]:
    return [str(each).partition("released-ids.txt:")[2] for each in found.faults(rule_ids)]


LIST = "brakes  Brakes on both axles\nlights  removed: Lights of two colours\n"


def test_a_removed_id_is_never_used_again(tmp_path: Path) -> None:
    found = listing(tmp_path, LIST)
    assert told(found, "brakes") == []
    assert told(found, "brakes", "lights") == [
        "2:1: found the removed id 'lights' used again by a rule; wanted a new id for that rule"
    ]


def test_a_released_rule_does_not_go_without_a_word(tmp_path: Path) -> None:
    assert told(listing(tmp_path, LIST), "brake") == [
        "1:1: found the released id 'brakes', which no rule has; "
        "wanted its rule, or `removed:` before its title; did you mean 'brake'?"
    ]
    # Where only some rulebooks of the folder are looked at, an absent rule says nothing.
    assert told(listing(tmp_path, LIST, whole=False), "brake") == []


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("brakes\n", "txt:1:1: found 'brakes'; wanted an id, two spaces"),
        ("b  B\na  A\n", "txt:2:1: found 'a' after 'b'; wanted each id once"),
        ("b  B\nb  B\n", "txt:2:1: found 'b' after 'b'; wanted each id once"),
    ],
)
def test_a_list_out_of_order_is_refused_at_its_line(
    tmp_path: Path, text: str, message: str
) -> None:
    with pytest.raises(ProblemsFoundError, match=message):
        listing(tmp_path, text)


def test_no_list_is_no_fault(tmp_path: Path) -> None:
    assert read_released(tmp_path, whole=True) is None


def test_the_list_only_grows() -> None:
    titles = {"axles": "Axles", "brakes": "Another title", "wheels": "Wheels"}
    assert with_added(LIST, titles) == f"axles  Axles\n{LIST}wheels  Wheels\n"


def test_the_shipped_list_holds_with_the_shipped_rules() -> None:
    found = read_released(shipped_folder("rules"), whole=True)
    assert found is not None
    books = shipped_rules().books
    assert told(found, *(rule.id for book in books for rule in book.rules)) == []
