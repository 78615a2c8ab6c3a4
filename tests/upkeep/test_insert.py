"""One change into a file: what comes in, where, and that nothing else moves."""

from datetime import date
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from ruamel.yaml import YAML

from checker.upkeep.insert import append_entry, insert_note
from checker.upkeep.yaml_positions import CannotInsertError

CHANGE: dict[str, Any] = {
    "rule": "weight",
    "threshold": "most",
    "was": "7000 lb",
    "value": "6600 lb",
    "from": date(2026, 7, 1),
    "common_practice": "yes",
}
LINES = [
    "  - rule: weight\n",
    "    threshold: most\n",
    "    was: 7000 lb\n",
    "    value: 6600 lb\n",
    "    from: 2026-07-01\n",
    "    common_practice: yes\n",
]
FILE = """\
# Ours.
kind: amendment   # the kind
id: crew
changes:  # in the order they came

  # the first one
  - &first
    rule: tyres      # a rule
    threshold: "least"
    was:   4
    value: 5
    from: 2026-01-01   # new year
    common_practice: yes
    because: >-
      folded
      text
  # a remark after the last one
repeals:
  - {rule: lamps, from: 2026-01-01, common_practice: yes}
# the end
"""


def added(before: str, after: str) -> list[str]:
    """The lines that are new; fails where an old line is gone or moved."""
    rest = before.splitlines(keepends=True)
    new = []
    for line in after.splitlines(keepends=True):
        if rest and line == rest[0]:
            rest.pop(0)
        else:
            new.append(line)
    assert rest == []
    return new


def test_it_stands_after_the_last_change_and_nothing_else_moves() -> None:
    after = append_entry(FILE, "changes", CHANGE)
    assert added(FILE, after) == LINES
    assert after.index("- rule: weight") > after.index("      text\n")
    assert after.index("- rule: weight") < after.index("  # a remark after")


def test_line_ends_and_a_byte_order_mark_stay() -> None:
    text = "\ufeff" + FILE.replace("\n", "\r\n")
    after = append_entry(text, "changes", CHANGE)
    assert added(text, after) == [line.replace("\n", "\r\n") for line in LINES]


@pytest.mark.parametrize("end", ["", "\n", "\n\n# the end\n", "\n# the end"])
def test_a_file_without_changes_gets_the_list(end: str) -> None:
    text = f"kind: amendment\nid: crew{end}"
    after = append_entry(text, "changes", CHANGE)
    assert "id: crew\nchanges:\n" + "".join(LINES) in after
    assert added(text if end else f"{text}\n", after) == ["changes:\n", *LINES]


def test_the_change_that_still_holds_is_left_alone() -> None:
    later = {**CHANGE, "value": "6500 lb", "from": date(2026, 9, 1)}
    once = append_entry(FILE, "changes", CHANGE)
    assert len(added(once, append_entry(once, "changes", later))) == len(LINES)


NOTE: dict[str, Any] = {"from": date(2026, 7, 1), "by": 'Ann "A" Quill', "because": "no: 5 # 6"}


def test_a_note_stands_at_the_end_of_its_change_and_nothing_else_moves() -> None:
    after = insert_note(FILE, 0, "withdrawn", NOTE)
    assert added(FILE, after) == [
        "    withdrawn:\n",
        "      from: 2026-07-01\n",
        '      by: Ann "A" Quill\n',
        "      because: 'no: 5 # 6'\n",
    ]
    assert after.index("      text\n") < after.index("    withdrawn:") < after.index("  # a remark")
    assert insert_note(FILE.replace("\n", "\r\n"), 0, "withdrawn", NOTE) == after.replace(
        "\n", "\r\n"
    )


@pytest.mark.parametrize("end", ["", " ", ",", " , # so\n   "])
def test_a_note_on_a_change_on_one_line_stands_in_its_brackets(end: str) -> None:
    line = f"- {{rule: weight, each_year: {{from: 11-01, until: 05-01}}{end}}}  # so\n"
    after = insert_note(f"kind: amendment\nchanges:\n{line}", 0, "corrected", NOTE)
    assert after.endswith(
        "{rule: weight, each_year: {from: 11-01, until: 05-01}, corrected: {from: 2026-07-01, "
        f'by: "Ann \\"A\\" Quill", because: "no: 5 # 6"}}{end}}}  # so\n'
    )
    (entry,) = YAML(typ="safe", pure=True).load(after)["changes"]
    assert entry["corrected"] == NOTE


@pytest.mark.parametrize(
    "text",
    [
        "kind: amendment\nchanges: []\n",
        "kind: amendment\nchanges:\n",
        "{kind: amendment}\n",
        "- a\n",
    ],
)
def test_a_file_of_another_form_is_refused(text: str) -> None:
    with pytest.raises(CannotInsertError, match=r"found .*wanted"):
        append_entry(text, "changes", CHANGE)


_comment = st.sampled_from(["", "  # why", "   # 50 %: a: b", "\n    # alone"])
_indent = st.sampled_from(["", "  ", "    "])


@given(
    st.lists(st.tuples(st.integers(0, 3), _comment), min_size=1, max_size=6),
    _indent,
    st.sampled_from(["\n", "\r\n"]),
    st.integers(0, 3),
    st.text(st.characters(min_codepoint=32, max_codepoint=126), min_size=1, max_size=30),
)
def test_random_edits_change_only_the_lines_meant(
    entries: list[tuple[int, str]], indent: str, newline: str, which: int, because: str
) -> None:
    """Whatever comments stand where: old lines stay as they are, and the data is old plus new."""
    text = "# head\nkind: amendment\nid: crew\nchanges:\n"
    for day, (rule, comment) in enumerate(entries, 1):
        text += f"{indent}- rule: r{rule}{comment}\n{indent}  threshold: t\n"
        text += f"{indent}  from: 2026-01-{day:02}{comment}\n{indent}  until: 2026-02-01\n"
    text = text.replace("\n", newline) + f"# tail{newline}"
    change = {**CHANGE, "rule": f"r{which}", "because": because}
    after = append_entry(text, "changes", change)
    assert len(added(text, after)) == len(LINES) + 1
    load = YAML(typ="safe", pure=True).load
    old, new = load(text), load(after)
    last = new["changes"].pop()
    assert new == old
    assert (last["rule"], last["because"]) == (f"r{which}", because)
