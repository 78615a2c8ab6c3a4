"""Haul files that are looked up line by line mean what the reader of documents finds in them."""

from collections.abc import Sequence
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from checker.season.logs.plain_hauls import plain_row
from checker.season.logs.yaml_folder import _explained

ABOVE = (
    "kind: haul",
    "load: loads/side-by-side-in-order",
    "load: ../loads/b (2).yaml",
    "date: 2026-07-02",
    "date: '2026-07-03'",
    "crew: north crew",
    'crew: "O\'Brien: #1"',
    "crew: 12",
    "title: as it was, mostly",
    "note: 'seen twice'",
)
SOUND = (
    "articles.1.weight: 1500 lb",
    "articles.1.weight: 1500 lb +/- 20 lb",
    "articles.1.placed.x: 12.5 in",
    "articles.1.placed.y: -2 in",
    "trip.places: [US-UT, US-AZ]",
    "trip.places: [US-UT]",
    "tow_vehicle.seats: 5",
    "walkaround.chains_crossed: yes",
    "walkaround.chains_crossed: 'no'",
    "articles.1.placed.facing: forward",
)
UNSOUND = (
    "articles.1.weight: heavy",
    "trip.places: [true]",
    "tow_vehicle.seats: 5 or 6",
    "walkaround.chains_crossed: true",
    "crew: below",
    "no.such.field: 1",
)
ODD = (
    "",
    " ",
    "# a remark",
    "---",
    "...",
    "%YAML 1.2",
    "- kind: haul",
    "differs:",
    "differs: {articles.1.weight: 1 lb}",
    "crew: &who north",
    "title: *who",
    "title: !!str x",
    "note: >",
    "note: |-",
    "note: [",
    '"crew": north',
    "? crew",
    ": north",
    "crew:",
    "crew: ~",
    "crew: null",
    "<<: {crew: x}",
    "kind: load",
    "kind: haul-log",
)
# What has a meaning of its own to YAML, or to one reader of lines and not to another.
LETTERS = (
    "ab1 .-+/:,;#&*!|>%@`~?<={}[]()'\"\\_\t\r\n\0\x0b\x0c\x85\xa0\u2028\u202e\ufeff\U0001f600é٣½"
)
PIECES = (*LETTERS, " #", "\n#", "\n \n", ": ", "- ", " &a ", "''", '\\"', "\\x41", "\n  ", "\n\n")
ENDS = (("", "\r\n"), ("", "\r"), ("\ufeff", "\n"), ("\ufeff", "\r\n"))


def told(row: object) -> object:
    """A row as text, in which 1, 1.0 and true are three things and the order of fields counts."""
    return repr(row)


def check(content: bytes) -> bool:
    """Hold the two ways against each other; whether the quick one was taken."""
    with TemporaryDirectory() as folder:
        file = Path(folder) / "haul.yaml"
        file.write_bytes(content)
        plain = plain_row(str(file))
        if plain is not None:
            assert told(plain) == told(_explained(file)), content
        return plain is not None


def spoilt(draw: st.DrawFn, text: str) -> str:
    """A text as it is, or with a letter or two put in."""
    for _ in range(draw(st.sampled_from((0, 0, 1, 1, 2)))):
        place = draw(st.integers(0, len(text)))
        text = text[:place] + draw(st.sampled_from(PIECES)) + text[place:]
    return text


@st.composite
def lines(draw: st.DrawFn) -> str:
    """A line that is sound, or was so before it was spoilt, or never was."""
    line = draw(st.sampled_from(ABOVE + ODD + tuple(f"  {line}" for line in SOUND + UNSOUND)))
    return draw(st.sampled_from(("", "", "", "", "  ", " ", "\t"))) + spoilt(draw, line)


def some(sound: Sequence[str]) -> st.SearchStrategy[list[str]]:
    """Some of the lines, each key once."""
    return st.lists(st.sampled_from(sound), max_size=4, unique_by=lambda line: line.split(":")[0])


@st.composite
def files(draw: st.DrawFn) -> bytes:
    """A haul, mostly sound, with lines put in and left out, as it may stand on disk."""
    text = ["kind: haul", "load: loads/side-by-side-in-order", "date: 2026-07-02"]
    text += draw(some(ABOVE[5:]))
    below = draw(some(SOUND))
    if below:
        place = draw(st.integers(1, len(text)))
        indent = draw(st.sampled_from(("  ", "  ", "    ", " ")))
        text[place:place] = ["differs:", *(indent + line for line in below)]
    what = draw(st.sampled_from((*["a line more"] * 5, *["nothing"] * 3, "a line less", "ends")))
    if what == "a line more":
        text.insert(draw(st.integers(0, len(text))), draw(lines()))
    if what == "a line less":
        del text[draw(st.integers(0, len(text) - 1))]
    start, end = draw(st.sampled_from(ENDS)) if what == "ends" else ("", "\n")
    last = draw(st.sampled_from((end, end, end, "", end + end)))
    return (start + end.join(text) + last).encode()


@st.composite
def values(draw: st.DrawFn) -> str:
    """A value on one line, or what is left of it once it was spoilt."""
    sound = ("x", "north crew", "-1 +/- 2", "a/b.c", "'x y'", '"x y"', "[a, b-c]", "12", "1.0", "~")
    return spoilt(draw, draw(st.sampled_from(sound)))


@given(files())
@example(b"kind: haul\nload: x\ndate: 2026-07-02\ndiffers:\n")
@example(b"kind: haul\nload: x\ndate: 2026-07-02\ndiffers:\ncrew: x\n")
@example(b"kind: haul\nload: x\ndate: 2026-07-02\ncrew: x\n  articles.1.weight: 1 lb\n")
@example(b"kind: haul\nload: x\ndate: 2026-07-02\ndiffers:\n  tow_vehicle.seats: 5\n\n")
@example(b"kind: haul\nload: x\nload: x\ndate: 2026-07-02\n")
@example(b"kind: haul\nload: x\ndate: 2026-07-02\ncrew: \xff\n")
@example(b"kind: haul\nload: x\ndate: 2026-07-02\nnote: 'a\n# b'\n")
@example(b"kind: haul\nload: x\ndate: 2026-07-02\nnote: |\n# b\n")
@example(b"kind: haul\nload: x\n# r\n  y\ndate: 2026-07-02\n")
@example(b"kind: haul\nload: x\n\n  y\ndate: 2026-07-02\n")
@example(b"kind: haul\nload: x\ndate: 2026-07-02\ndiffers:\n  # r\n")
def test_a_file_that_is_looked_up_is_the_row_that_the_reader_finds(content: bytes) -> None:
    check(content)


@given(values(), st.sampled_from(("crew: ", "note: ", "differs:\n  articles.1.placed.facing: ")))
def test_so_is_a_file_with_any_text_for_a_value(value: str, before: str) -> None:
    check(f"kind: haul\nload: x\ndate: 2026-07-02\n{before}{value}\n".encode())


SORTED = """\
crew: 'north'
date: '2026-07-02'
differs:
  articles.1.weight: 1500 lb
  walkaround.chains_crossed: 'yes'
kind: haul
load: x
"""


@pytest.mark.parametrize(
    "text",
    [
        "kind: haul\nload: x\ndate: 2026-07-02",
        "kind: haul\nload: x\ndate: 2026-07-02\ndiffers:\n  trip.places: [US-UT, US-AZ]\n",
        "kind: haul\nload: ../x.yaml\ndate: 2026-07-02\ndiffers:\n  trip.speed: 45 mph\n",
        SORTED,
        *(f"{SORTED}{line}\n" for line in ABOVE[8:]),
        f"# As it stands in the log.\n\n{SORTED}\n  # Of that day.\n\n",
        SORTED.replace("differs:", "\n# What was otherwise:\ndiffers:\n\n    # at the gate"),
        SORTED.replace("  ", "    "),
        SORTED.replace("  ", " "),
        SORTED.replace("1500 lb", "1500 lb  # full").replace("'yes'", "'yes' #seen "),
        *(f"kind: haul\nload: x\ndate: 2026-07-02\ndiffers:\n  {line}\n" for line in SOUND),
    ],
)
def test_files_as_programs_and_people_write_them_are_looked_up(text: str) -> None:
    assert check(text.encode())


FIELDS = "".join(f"  articles.{number}.weight: 1 lb\n" for number in range(1, 202))


IN_DOUBT = (
    "a#b",
    "'a'#b",
    "[a]#b",
    "a: b",
    "a:",
    "- a",
    "-",
    "? a",
    "&a b",
    "*a",
    "!a b",
    "|",
    "@a",
    "`a`",
    "%a",
    "a\tb",
    "a\\b",
    '"a\\tb"',
    '"a" b',
    '"a',
    "'a''b'",
    "'a' b",
    "{a: b}",
    "[a, [b]]",
    "\n  a",
)


@pytest.mark.parametrize(
    "text",
    [
        *(f"{SORTED}{line}\n" for line in ODD[3:]),
        *(f"kind: haul\nload: x\ndate: 2026-07-02\ndiffers:\n  {line}\n" for line in UNSOUND),
        *(SORTED.replace("'north'", value) for value in IN_DOUBT),
        SORTED.replace("1500 lb", "1500"),
        SORTED.replace("1500 lb", "1500 lb # \t full"),
        SORTED.replace("1500 lb", "1500 lb#"),
        SORTED.replace("differs:", "differs: # that day"),
        f"{SORTED}# \ttab\n",
        f"{SORTED}# \0\n",
        SORTED.replace("load: x\n", ""),
        SORTED.replace("load: x", "load: 5"),
        SORTED.replace("2026-07-02", "2026-02-30"),
        SORTED.replace("  walk", "    walk"),
        SORTED.replace("  walk", " walk"),
        SORTED.replace("  articles", "articles"),
        SORTED.replace("kind", "  walkaround.chains_crossed: 'yes'\nkind"),
        SORTED.replace("'yes'", "''"),
        SORTED.replace("north", ""),
        SORTED.replace("north", "n" * 101),
        SORTED.replace("\n", "\r\n"),
        f"kind: haul\nload: x\ndate: 2026-07-02\ndiffers:\n{FIELDS}",
        SORTED + "note: " + "n" * (1 << 16) + "\n",
    ],
)
def test_what_is_in_doubt_or_wrong_is_left_to_the_reader(text: str) -> None:
    assert not check(text.encode())


def test_of_a_long_file_no_part_is_taken_for_the_whole(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("checker.season.logs.plain_hauls._MOST_BYTES", len(SORTED))
    assert check(SORTED.encode())
    assert not check(f"{SORTED}title: x\n".encode())


def test_a_file_that_cannot_be_read_is_left_to_the_reader(tmp_path: Path) -> None:
    assert plain_row(str(tmp_path / "gone.yaml")) is None
