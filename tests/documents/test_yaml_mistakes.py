"""Mistakes that people make in the form of YAML: each is named, where it is, with what would do.

Origin of the texts: the usual slips of typing by hand, on the files of a crew. Positions are
counted by hand.
"""

import sys

import pytest

from checker.documents.reader import read_bytes
from checker.documents.validate import validate

HEAD = "kind: trailer\ntitle: T\n"
OWN_SIGN = "which YAML reads as a sign of its own; wanted quotes around it; did you mean"
NO_QUOTE = "without a closing one on its line; wanted"
NOT_CLOSED = "after the last entry, or quotes around such a text"
SECOND_COLON = (
    "found a second `: ` on the line; wanted quotes around a text with a colon, "
    "and each `key: value` on a line of its own"
)


@pytest.fixture(params=["libyaml", "pure"])
def parser(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> str:
    """Both parsers in turn; None in `sys.modules` makes an import fail."""
    if request.param == "pure":
        monkeypatch.setitem(sys.modules, "_ruamel_yaml", None)
    return str(request.param)


def problems(text: str | bytes) -> list[str]:
    document = read_bytes(text if isinstance(text, bytes) else text.encode(), "x.yaml")
    return [str(each) for each in document.problems or validate(document)]


@pytest.mark.usefixtures("parser")
@pytest.mark.parametrize(
    ("text", "problem"),
    [
        # Tabs and indents.
        (
            "deck:\n\tfront: 46 in",
            "4:1: found a tab in the indent; wanted spaces; 2 spaces fit below line 3",
        ),
        (
            "deck:\n  front: 46 in\n\trear: 166 in",
            "5:1: found a tab in the indent; wanted spaces; 2 spaces fit below line 4",
        ),
        (
            "deck:\r\n\tfront: 46 in\r",
            "4:1: found a tab in the indent; wanted spaces; 2 spaces fit below line 3",
        ),
        (
            "deck:\n  front: 46 in\n   rear: 166 in",
            "5:4: found an indent of 3 spaces below 'front', which has a value already"
            "; wanted 2 spaces, as on line 4",
        ),
        (
            "gvwr: 2990 lb\n  track: 86 in",
            "4:3: found an indent of 2 spaces below 'gvwr', which has a value already"
            "; wanted 0 spaces, as on line 3",
        ),
        (
            "deck:\n   front: 46 in\n  rear: 166 in",
            "5:3: found an indent of 2 spaces, which no line above has"
            "; wanted an indent of 0 (line 3) or 3 (line 4)",
        ),
        # Colons.
        ("note: weighed: 2026", f"3:14: {SECOND_COLON}; did you mean `note: 'weighed: 2026'`?"),
        ("gvwr: 2990 lb, track: 86 in", f"3:21: {SECOND_COLON}"),
        (
            "gvwr 2990 lb\ntrack: 80 in",
            "3:5: found no colon after 'gvwr'; wanted `key: value`; did you mean `gvwr: 2990 lb`?",
        ),
        (
            "track: 80 in\ngvwr 2990 lb",
            "4:5: found no colon after 'gvwr'; wanted `key: value`; did you mean `gvwr: 2990 lb`?",
        ),
        (
            "deck\n  front: 46 in",
            "3:5: found no colon after 'deck'; wanted `key: value`; did you mean `deck:`?",
        ),
        (
            "gvwr:2990 lb\ntrack: 80 in",
            "3:5: found no space after the colon of 'gvwr'"
            "; wanted `key: value`"
            "; did you mean `gvwr: 2990 lb`?",
        ),
        (
            "deck:\n  front:46 in\n  rear: 166 in",
            "4:8: found no space after the colon of 'front'"
            "; wanted `key: value`"
            "; did you mean `front: 46 in`?",
        ),
        (
            "deck:\n  front:46 in",
            "4:3: found no space after the colon of 'front'"
            "; wanted a mapping of `key: value` lines"
            "; did you mean `front: 46 in`?",
        ),
        (
            '"gvwr":2990 lb',
            "3:7: found no space after the colon of '\"gvwr\"'"
            "; wanted `key: value`"
            '; did you mean `"gvwr": 2990 lb`?',
        ),
        (
            "gvwr = 2990 lb\ntrack: 80 in",
            "3:6: found `=` after 'gvwr'"
            "; wanted a colon and a space"
            "; did you mean `gvwr: 2990 lb`?",
        ),
        (
            "gvwr\uff1a 2990 lb\ntrack: 8 ft",
            "3:5: found `\uff1a` after 'gvwr'"
            "; wanted a colon and a space"
            "; did you mean `gvwr: 2990 lb`?",
        ),
        (
            "gvwr:\u00a02990 lb\ntrack: 8 ft",
            "3:6: found a special space (U+00A0); wanted a plain space, as the space bar types it",
        ),
        (
            "deck: {front: 46 in rear: 166 in}",
            "3:25: found no comma between two entries of `{`; wanted `, ` between them",
        ),
        # Quotes and inch marks.
        (
            'note: "weighed\ntrack: 80 in',
            f'3:7: found an opening quote " {NO_QUOTE} " at the end as well, or no quotes at'
            " all (inches: 86 in)",
        ),
        (
            "note: 'weighed\ntrack: 80 in",
            f"3:7: found an opening quote ' {NO_QUOTE} ' at the end as well, or no quotes at"
            " all (inches: 86 in)",
        ),
        (
            'track: "86',
            f'3:8: found an opening quote " {NO_QUOTE} " at the end as well, or no quotes at'
            " all (inches: 86 in)",
        ),
        (
            "note: 'driver's side'",
            "3:15: found 's side'' after the closing quote '"
            '; wanted the whole text in quotes of the other form (")',
        ),
        (
            'track: "7\' 2""\ngvwr: 1 lb',
            "3:14: found '\"' after the closing quote \""
            "; wanted the whole text in quotes of the other form ('), or a figure such as 7"
            " ft 2 in",
        ),
        (
            'note: "C:\\shop"',
            "3:10: found '\\s' in double quotes, where a backslash has a meaning"
            "; wanted single quotes around text with a backslash",
        ),
        # Text that begins with a sign of YAML's own, or has a number sign.
        *[
            (
                f"note: {sign}",
                f"3:7: found a text that begins with '{sign[0]}', {OWN_SIGN} `note: '{sign}'`?",
            )
            for sign in ("@shop", "`x`", "%5", "? wet", "| wet", "> 5 ft", "[wet] deck", ", wet")
        ],
        (
            "note: &wet",
            "3:1: found nothing after '&wet'; wanted quotes around a text that begins with `&`",
        ),
        ("note: [wet\ntrack: 80 in", f"3:7: found `[` without its `]`; wanted `]` {NOT_CLOSED}"),
        ("note: {wet", f"3:7: found `{{` without its `}}`; wanted `}}` {NOT_CLOSED}"),
        (
            "note: - wet",
            "3:7: found a list entry `- ` on the line of its key"
            "; wanted entries on lines of their own below the key, or quotes around a text",
        ),
        (
            "note: trailer #2",
            "3:7: found 'trailer' and a number after ` #`, where a comment begins"
            "; wanted quotes around both, or a space after the `#` of a comment",
        ),
        (
            "track: #80",
            "3:1: found nothing before `#`, which begins a comment"
            "; wanted a value, or leave the line out; quotes around a value with `#`",
        ),
    ],
)
def test_a_slip_in_a_trailer(text: str, problem: str) -> None:
    assert problems(f"{HEAD}{text}\n") == [f"x.yaml:{problem}"]


@pytest.mark.usefixtures("parser")
@pytest.mark.parametrize(
    ("text", "problem"),
    [
        ("title: Mower: north", f"2:13: {SECOND_COLON}; did you mean `title: 'Mower: north'`?"),
        (
            " title: L",
            "2:2: found an indent of 1 space below 'kind', which has a value already"
            "; wanted 0 spaces, as on line 1",
        ),
        (
            "articles:\n- name: a\n   weight: 3 lb\n- name: b",
            "4:4: found an indent of 3 spaces below 'name', which has a value already"
            "; wanted 2 spaces, as on line 3",
        ),
        (
            "articles:\n  - name: a\n - name: b",
            "4:2: found an indent of 1 space, which no line above has"
            "; wanted an indent of 0 (line 2) or 2 (line 3) or 4 (line 3)",
        ),
        (
            "articles:\n  name: a\n  - name: b",
            "4:3: found a list entry `- ` beside the field on line 3"
            "; wanted either entries or `key: value` lines",
        ),
        (
            "articles:\n  -name: a",
            "3:3: found no space after the `-` of '-name'"
            "; wanted a list: `- ` before the first field of each entry, the others indented"
            " below it",
        ),
        (
            "trip:\n  places:\n    -US-UT",
            "4:5: found no space after the `-` of '-US-UT'"
            "; wanted a list of `- ...` lines"
            "; did you mean `- US-UT`?",
        ),
        (
            "trip: {places: US-UT}",
            "2:16: found 'US-UT'"
            "; wanted a list in brackets or of `- ...` lines"
            "; did you mean `[US-UT]`?",
        ),
        (
            "trip: {date: [2026-05-14]}",
            "2:14: found a list with '2026-05-14'"
            "; wanted one value without brackets and `- `"
            "; did you mean '2026-05-14'?",
        ),
        (
            "title: true",
            "2:8: found true"
            "; wanted text, with quotes around a number, true or false"
            "; did you mean 'true'?",
        ),
        (
            "tiedowns: [{grade: 70}]",
            "2:20: found the bare number 70"
            "; wanted one of: none, 30, 43, 70, 80, 100, with quotes around a number"
            "; did you mean '70'?",
        ),
        (
            "trip: {network: [other roads]}",
            "2:17: found a list with 'other roads'"
            "; wanted one word without brackets and `- `: national network, other roads"
            "; did you mean 'other roads'?",
        ),
        (
            "articles: [{friction: '0.3'}]",
            "2:23: found '0.3'"
            "; wanted a plain number without quotes and commas"
            "; did you mean `0.3`?",
        ),
        (
            'articles: [{friction: "0,3"}]',
            "2:23: found '0,3'"
            "; wanted a plain number without quotes and commas"
            "; did you mean `0.3`?",
        ),
        (
            "trailer:\n  safety_chains:\n    count: 2,000",
            "4:12: found '2,000'"
            "; wanted a whole number without quotes and commas"
            "; did you mean `2000`?",
        ),
    ],
)
def test_a_slip_in_a_load(text: str, problem: str) -> None:
    assert problems(f"kind: load\n{text}\n") == [f"x.yaml:{problem}"]


@pytest.mark.usefixtures("parser")
@pytest.mark.parametrize(
    ("text", "problem"),
    [
        (
            "kind:trailer\n",
            "1:1: found no space after the colon of 'kind'"
            "; wanted a document that starts with `kind: ...`"
            "; did you mean `kind: trailer`?",
        ),
        (
            " kind: trailer\ntitle: T\n",
            "1:1: found an indent of 1 space before the first key; wanted none",
        ),
        (
            HEAD.encode("utf-16"),
            "1:1: found bytes that are not UTF-8 text; wanted a text file saved as UTF-8",
        ),
    ],
)
def test_a_slip_in_the_first_line(text: str | bytes, problem: str) -> None:
    assert problems(text) == [f"x.yaml:{problem}"]


@pytest.mark.parametrize(
    "text",
    [
        "note: weighed on the scale  # 2026, both axles\n",
        "note: weighed #on the scale\n",
        "#2 is the spare\nnote: weighed\n",
        'note: "trailer #2"\n',
        "note: |\n  trailer #2\n",
        "note: weighed\n# see #2\n",
    ],
)
def test_comments_and_quoted_number_signs_are_no_slips(text: str) -> None:
    assert problems(HEAD + text) == []


def test_every_position_of_an_unfinished_file_is_answered() -> None:
    """Whatever is cut off or put in, a problem is at a line of the file."""
    text = "kind: load\ntitle: \"A 'b'\"\narticles:\n  - {name: a, weight: 3 lb}\n  - name: b\n"
    for at in range(len(text) + 1):
        for sign in ("", "\t", '"', "[", ": ", "- ", "\u00a0", "\\"):
            document = read_bytes((text[:at] + sign).encode(), "x.yaml")
            for problem in document.problems:
                assert 1 <= problem.mark.line <= 7
                assert problem.mark.column >= 1
