"""A load file with places and tiedowns changed: the change is in it, and nothing else moved."""

from collections.abc import Mapping, Sequence
from typing import Any

import pytest

from checker.upkeep.rearranged import rearranged
from checker.upkeep.yaml_positions import CannotInsertError

HEAD = "# Ours.\nkind: load   # the kind\ntitle: A load\n"
LINES = """\
articles:
  # the mower
  - from: machines/mower
    placed: {x: 52 in, y: 0 in, facing: forward}  # by the tape
tiedowns:
  # straps of box 2
  - {from: tiedowns/a, anchor: fl, attachment: p, path: direct}  # short one
  # new in May
  - from: tiedowns/a
    anchor: fr   # bent
    attachment: q
    path: direct
  - {from: tiedowns/a, anchor: rl, attachment: r, path: direct}
# what follows
walkaround: {}
"""
NEW = {"from": "tiedowns/b", "anchor": "x1", "attachment": "r", "path": "direct"}
NEW_LINE = "  - {from: tiedowns/b, anchor: x1, attachment: r, path: direct}\n"


def change(
    text: str,
    placed: Mapping[int, Mapping[str, str]] | None = None,
    tiedowns: Sequence[int | Mapping[str, Any]] | None = None,
) -> str:
    articles = {index: {"placed": values} for index, values in (placed or {}).items()}
    return rearranged(text, "load.yaml", articles, tiedowns)


def test_nothing_to_change_leaves_every_byte() -> None:
    assert change(HEAD + LINES) == HEAD + LINES


def test_figures_are_replaced_where_they_stand() -> None:
    after = change(HEAD + LINES, {0: {"x": "94 in", "facing": "rearward"}})
    assert after == (HEAD + LINES).replace("x: 52 in", "x: 94 in").replace("forward", "rearward")


def test_tiedowns_that_stay_keep_their_comments_and_those_that_go_take_them_along() -> None:
    after = change(HEAD + LINES, tiedowns=[0, NEW, 2])
    gone = LINES[LINES.index("  # new in May") : LINES.index("  - {from: tiedowns/a, anchor: rl")]
    assert after == HEAD + LINES.replace(gone, NEW_LINE)
    after = change(HEAD + LINES, tiedowns=[NEW, 1])
    first = LINES[LINES.index("  - {from: tiedowns/a, anchor: fl") : LINES.index("  # new in May")]
    last = LINES[LINES.index("  - {from: tiedowns/a, anchor: rl") : LINES.index("# what follows")]
    assert after == HEAD + LINES.replace(first, NEW_LINE).replace(last, "")


def test_an_order_of_its_own() -> None:
    after = change(HEAD + LINES, tiedowns=[2, 0])
    assert after.index("anchor: rl") < after.index("anchor: fl")
    assert "# short one" in after
    assert "bent" not in after


@pytest.mark.parametrize(
    ("before", "after"),
    [
        ("  - machines/mower\n", "  - {from: machines/mower, placed: {x: 9 in, y: 1 in}}\n"),
        (
            "  - {from: machines/mower}\n",
            "  - {from: machines/mower, placed: {x: 9 in, y: 1 in}}\n",
        ),
        (
            "  - from: machines/mower # ours\n",
            "  - from: machines/mower # ours\n    placed: {x: 9 in, y: 1 in}\n",
        ),
        (
            "  - placed:\n      x: '52 in' # tape\n",
            "  - placed:\n      x: 9 in # tape\n      y: 1 in\n",
        ),
        ("  - placed: {x: 52 in}\n", "  - placed: {x: 9 in, y: 1 in}\n"),
        ("  - placed: {}\n", "  - placed: {x: 9 in, y: 1 in}\n"),
    ],
)
def test_forms_of_an_article(before: str, after: str) -> None:
    end = "walkaround: {}\n"
    changed = change(f"{HEAD}articles:\n{before}{end}", {0: {"x": "9 in", "y": "1 in"}})
    assert changed == f"{HEAD}articles:\n{after}{end}"


@pytest.mark.parametrize(
    ("before", "wanted", "after"),
    [
        ("", [NEW], f"tiedowns:\n{NEW_LINE}"),
        ("tiedowns: []\n", [NEW], f"tiedowns:\n{NEW_LINE}"),
        ("tiedowns: []  # none yet\n", [NEW], f"tiedowns:\n{NEW_LINE[:-1]}  # none yet\n"),
        (
            "tiedowns: [{anchor: a}, {anchor: b}]\n",
            [1, NEW],
            "tiedowns:\n  - {anchor: b}\n" + NEW_LINE,
        ),
        ("tiedowns:\n- anchor: a\n", [0, NEW], f"tiedowns:\n- anchor: a\n{NEW_LINE[2:]}"),
        ("tiedowns:\n  -\n    anchor: a\n", [0, NEW], f"tiedowns:\n  -\n    anchor: a\n{NEW_LINE}"),
    ],
)
def test_forms_of_the_list(before: str, wanted: Sequence[Any], after: str) -> None:
    assert change(f"{HEAD}articles: []\n{before}", tiedowns=wanted) == (
        f"{HEAD}articles: []\n{after}"
    )


def test_line_ends_of_windows_and_a_last_line_without_end_stay() -> None:
    text = (HEAD + LINES).replace("\n", "\r\n")
    after = change(text, {0: {"x": "94 in"}}, [0, NEW, 2])
    assert "\n" not in after.replace("\r\n", "")
    assert after.count("\r\n") == text.count("\r\n") - 4
    bare = f"{HEAD}tiedowns:\n  - {{anchor: a}}\narticles:\n  - {{weight: 9 lb}}"
    assert change(bare, {0: {"x": "9 in"}}, [NEW]).endswith("{weight: 9 lb, placed: {x: 9 in}}")
    bare = f"{HEAD}articles:\n  - weight: 9 lb"
    assert change(bare, {0: {"x": "9 in"}}, [NEW]) == (
        f"{HEAD}articles:\n  - weight: 9 lb\n    placed: {{x: 9 in}}\n\ntiedowns:\n{NEW_LINE}"
    )


@pytest.mark.parametrize(
    "text",
    [
        "articles:\n  - &one {weight: 9 lb, placed: &p {x: 5 in}}\n  - *one\n",
        "articles:\n  - {weight: 9 lb, placed: {x: &x 5 in, y: *x}}\n",
    ],
)
def test_shared_text_is_refused(text: str) -> None:
    with pytest.raises(CannotInsertError, match="shares text between its parts"):
        change(HEAD + text, {0: {"x": "9 in"}})


def test_comments_in_brackets_are_refused() -> None:
    text = f"{HEAD}articles: []\ntiedowns: [\n  {{anchor: a}}, # ours\n]\n"
    with pytest.raises(CannotInsertError, match="with comments in it"):
        change(text, tiedowns=[NEW])
