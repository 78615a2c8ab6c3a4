"""Figures that cannot be the other way round are refused at their line."""

from pathlib import Path

import pytest

from checker.documents.problems import ProblemsFoundError
from checker.load.build import read_profile


def told(tmp_path: Path, text: str) -> list[str]:
    file = tmp_path / "load.yaml"
    file.write_text(f"kind: load\n{text}\n")
    try:
        read_profile(file)
    except ProblemsFoundError as found:
        return [str(problem).partition("load.yaml:")[2] for problem in found.problems]
    return []


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (
            "trailer: {deck: {front: 242 in, rear: 50 in}}",
            "2:25: found a deck that ends before it begins; wanted no more than deck.rear",
        ),
        (
            "trailer: {empty_tongue_weight: 2000 lb, empty_weight: 1900 lb}",
            "2:32: found an empty tongue heavier than the empty trailer; "
            "wanted no more than empty_weight",
        ),
        (
            "articles: [{length: 10 ft, cg: {x: 121 in}}]",
            "2:36: found a centre of gravity behind its rear end; wanted no more than length",
        ),
        (
            "articles: [{axles: {front: {x: 90 in}, rear: {x: 14 in}}}]",
            "2:32: found a front axle behind the rear one; wanted no more than axles.rear.x",
        ),
        (
            "articles: [{length: 80 in, axles: {rear: {x: 90 in}}}]",
            "2:46: found a rear axle behind its rear end; wanted no more than length",
        ),
    ],
)
def test_the_wrong_way_round(tmp_path: Path, text: str, said: str) -> None:
    assert told(tmp_path, text) == [said]


@pytest.mark.parametrize(
    "text",
    [
        # 10 ft are 120 in: equal is in order, and so is what the tolerances let be.
        "articles: [{length: 10 ft, cg: {x: 120 in}}]",
        "articles: [{length: 10 ft ± 1 in, cg: {x: 121 in}}]",
        "articles: [{length: 10 ft, cg: {x: 121 in ± 1 in}}]",
        "articles: [{length: 10 ft}]",
        "trailer: {deck: {front: 50 in}}",
        "trailer: {deck: {front: 50 in, rear: 242 in}}",
    ],
)
def test_what_is_in_order_or_not_stated(tmp_path: Path, text: str) -> None:
    assert told(tmp_path, text) == []
