import itertools
from collections.abc import Iterator

import pytest

from checker.documents.problems import (
    Mark,
    Problem,
    ProblemsFoundError,
    count_problems,
    listed,
    nearest,
    one_of,
    quoted,
    suggestion_for,
)

AT = Mark(3, 7)


def test_a_problem_reads_as_place_found_wanted_and_suggestion() -> None:
    problem = Problem("day.yaml", AT, "'weigth'", "one of: weight", "'weight'")
    expected = "day.yaml:3:7: found 'weigth'; wanted one of: weight; did you mean 'weight'?"
    assert str(problem) == expected


def test_what_is_not_known_is_left_out() -> None:
    assert str(Problem("day.yaml", AT, "no file", "")) == "day.yaml:3:7: found no file"


def test_problems_are_raised_once_each_and_in_the_order_of_the_files() -> None:
    late = Problem("b.yaml", Mark(1, 1), "x", "y")
    low = Problem("a.yaml", Mark(10, 1), "x", "y")
    high = Problem("a.yaml", Mark(9, 80), "x", "y")
    error = ProblemsFoundError([late, low, high, late])
    assert error.problems == [high, low, late]
    assert str(error).splitlines() == [str(high), str(low), str(late)]


@pytest.mark.parametrize(
    ("word", "meant"),
    [
        ("weigth", "weight"),
        ("Weight", "weight"),
        ("tow-vehicle", "tow_vehicle"),
        ("Tow Vehicle", "tow_vehicle"),
        ("weight", "weight"),
        ("", None),
        ("zebra", None),
    ],
)
def test_nearest_known_word(word: str, meant: str | None) -> None:
    assert nearest(word, ["weight", "tow_vehicle", "title"]) == meant


def test_nearest_of_nothing_is_nothing() -> None:
    assert nearest("weight", []) is None


@pytest.mark.parametrize(
    ("number", "text"),
    [
        (2, "w0, w1"),
        (12, "w0, w1, w2, w3, w4, w5, w6, w7, w8, w9, w10, w11"),
        (13, "w0, w1, w2, w3, w4, w5, w6, w7, w8, w9, w10, w11 and 1 more"),
    ],
)
def test_long_lists_of_words_end_in_a_count(number: int, text: str) -> None:
    assert listed(f"w{index}" for index in range(number)) == text


@pytest.mark.parametrize(
    ("words", "text"),
    [
        # The subjects of law, of which "width and height" and "length" are none.
        (["width", "height and length", "weight"], "width, 'height and length', weight"),
        (["oil or grease", "dry"], "'oil or grease', dry"),
        (["a mower, red", "a; b"], "'a mower, red', 'a; b'"),
        (["'a mower, red'", "b"], "'a mower, red', b"),
        (["sand", "order"], "sand, order"),
    ],
)
def test_a_word_that_looks_like_two_words_is_in_quotes(words: list[str], text: str) -> None:
    assert listed(words) == text
    assert one_of([*words, "end"]) == f"one of: {text}, end"


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("two\nlines\tand \x1b[31m red", r"'two\nlines\tand \u001b[31m red'"),
        ("x" * 60, "'" + "x" * 60 + "'"),
        ("x" * 61, "'" + "x" * 60 + "…'"),
        ("", "''"),
    ],
)
def test_text_from_a_file_is_shown_tame(text: str, shown: str) -> None:
    assert quoted(text) == shown
    assert listed([text, "end"]) == f"{shown[1:-1]}, end"


def many(number: int, file: str = "a.yaml") -> list[Problem]:
    return [Problem(file, Mark(line, 1), f"x{line:05}", "y") for line in range(1, number + 1)]


@pytest.mark.parametrize(("number", "told"), [(199, 199), (200, 200), (201, 201), (60_000, 201)])
def test_of_one_file_some_problems_are_told_and_all_counted(number: int, told: int) -> None:
    found = ProblemsFoundError(reversed(many(number))).problems
    assert len(found) == told
    assert found[:200] == many(number)[:200]
    assert count_problems(found) == number
    # Whoever gathers problems again tells the same.
    assert ProblemsFoundError(found).problems == found


def test_the_rest_is_told_where_it_begins_for_each_file() -> None:
    problems = [*many(60_000), *many(3, "b.yaml"), *many(300, "c.yaml")]
    lines = str(ProblemsFoundError(problems)).splitlines()
    wanted = "wanted the problems above fixed first"
    assert lines[200] == f"a.yaml:201:1: found 59,800 more problems from here on; {wanted}"
    assert lines[201] == "b.yaml:1:1: found x00001; wanted y"
    assert lines[-1] == f"c.yaml:201:1: found 100 more problems from here on; {wanted}"
    assert len(lines) == 201 + 3 + 201


def test_no_near_word_is_looked_for_once_enough_is_told() -> None:
    def never() -> Iterator[str]:
        raise AssertionError("a near word was looked for")
        yield ""

    assert suggestion_for("weigth", ["weight"], many(199)) == "'weight'"
    assert suggestion_for("weigth", never(), many(200)) is None


def test_among_very_many_words_no_near_one_is_looked_for() -> None:
    assert nearest("weigth", (f"anchor-{number}" for number in itertools.count())) is None
