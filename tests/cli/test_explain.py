"""`cinchbook explain`: the working of one rule on one load.

Figures are worked by hand beside each case; the profiles' own comments hold the same sums.
"""

import re
from datetime import date
from io import StringIO
from pathlib import Path

import pytest
from rich.console import Console
from typer.testing import CliRunner, Result

from checker.advice.explain import explain
from checker.advice.nearest import NearestOnDemand
from checker.cli.app import application
from checker.documents.resources import shipped_folder
from checker.evaluation.tolerances import check_profile
from checker.load.build import read_profile
from checker.reports.pages.explain.page import print_explanation
from checker.rulebooks.verdicts import Verdict
from checker.units.formatting import US
from tests.shipped import shipped_rules

IN_ORDER = "loads/side-by-side-in-order"
TONGUE = "tongue-share-ball"
CAUTION = "This report supports the walk-around and never replaces it."


def explained(*words: str, columns: int = 200) -> Result:
    return CliRunner().invoke(application(), ["explain", *words], env={"COLUMNS": str(columns)})


def told(*words: str) -> str:
    """The whole page on lines too long to wrap, without the indents."""
    return re.sub(r"\n +", "\n", explained(*words, columns=2000).stdout)


def part(page: str, heading: str) -> list[str]:
    """The lines under a heading, up to the next empty one."""
    return page.partition(f"\n{heading}")[2].split("\n\n")[0].splitlines()[1:]


def test_a_rule_that_is_met_in_full() -> None:
    """The arithmetic of the shipped load, line by line.

    By hand: centre of gravity 14 + 76 x 810 / 1420 = 57.352 in behind the machine's front end and
    52 + 57.352 = 109.35 in behind the ball; tongue 105 + 1420 x (124 - 109.352) / 124 = 272.74 lb
    of 920 + 1420 = 2,340 lb, which is 11.656 %; at least 234 lb and at most 351 lb.
    38.742 / 234 = 16.6 %. It is 234 lb when 1420 x (124 - x) / 124 = 129, x = 112.735 in, so with
    the machine at 112.735 - 57.352 = 55.383 in.
    """
    done = explained(IN_ORDER, TONGUE, columns=2000)
    page = re.sub(r"\n +", "\n", done.stdout)
    assert done.exit_code == 0
    assert page.splitlines()[4] == "MET"
    assert part(page, "THE ARITHMETIC") == [
        "Whether it applies:",
        "the trailer couples to a ball behind the truck: yes; wanted yes: holds",
        "What it requires:",
        "1. tongue weight 272.74 lb; wanted at least 234 lb = 10 % × gross weight of the loaded "  # noqa: RUF001
        "trailer 2,340 lb: holds (this decides)",
        "2. tongue weight 272.74 lb; wanted at most 351 lb = 15 % × gross weight of the loaded "  # noqa: RUF001
        "trailer 2,340 lb: holds",
        "Found: tongue weight = 272.74 lb",
        "Limit: 10 % × gross weight of the loaded trailer 2,340 lb = 234 lb",  # noqa: RUF001
        "share on the tongue: 11.656 %",
        "Verdict: met; 38.742 lb between found and limit, 16.6 % inside.",
    ]
    assert part(page, "WHAT WOULD CHANGE IT") == [
        "- Not met once it stands more than 55.383 in behind the ball; today 52 in."
    ]
    assert CAUTION in page


def test_facts_go_down_to_the_lines_they_are_stated_in() -> None:
    """Sums with numbers put in; moments 815 x 124 + 1420 x 109.352 = 256,340 lb*in."""
    facts = part(told(IN_ORDER, TONGUE), "FACTS IT USES")
    assert "= 2,340 lb - 256,340 lb*in / 124 in" in facts
    assert "= (920 lb - 105 lb) × 124 in + 1,420 lb × 109.35 in" in facts  # noqa: RUF001
    assert "= 14 in + (90 in - 14 in) × 810 lb / (610 lb + 810 lb)" in facts  # noqa: RUF001
    assert "articles.1.weight: 1,420 lb (profiles/machines/side-by-side.yaml:6)" in facts
    assert "articles.1.cg.x: not stated" in facts
    first = "gross weight of the loaded trailer: 2,340 lb [trailer.gross_weight]"
    again = "gross weight of the loaded trailer: 2,340 lb, as above [trailer.gross_weight]"
    assert facts.index(first) < facts.index(again)
    assert facts.count(first) == 1


@pytest.mark.parametrize(
    ("rule", "line"),
    [
        (
            "tiedowns-rated-for-the-weight",
            "articles.1.attachments.front-left.working_load_limit: no rating exists "
            "(profiles/machines/side-by-side.yaml:",
        ),
        (
            "receiver-rated-for-trailer",
            "tow_vehicle.front_restoration: none (profiles/tow-vehicles/half-ton.yaml:",
        ),
    ],
)
def test_a_word_in_place_of_a_number_stands_as_it_was_written(rule: str, line: str) -> None:
    assert any(each.startswith(line) for each in part(told(IN_ORDER, rule), "FACTS IT USES"))


def test_the_rule_and_its_numbers_name_their_sources() -> None:
    page = told(IN_ORDER, TONGUE)
    rule = part(page, "THE RULE")
    assert rule[0].startswith("Id: tongue-share-ball, at rules/north-america/placement.yaml:")
    assert rule[2] == "Level: must. Basis: guidance."
    assert rule[3].startswith("Source: Livestock Trailer Safety, weight on tongue and axles;")
    assert rule[3].endswith("; text seen")
    assert rule[5] == "In force: yes; the trip goes to US-UT"
    says = part(page, "WHAT IT SAYS")
    assert says[1:3] == [
        "When: hitch.is_ball",
        'in words: "the trailer couples to a ball behind the truck"',
    ]
    assert says[4] == (
        'in words: 10 % [lightest] × "gross weight of the loaded trailer" is at most '  # noqa: RUF001
        '"tongue weight", which is at most 15 % [heaviest] × '  # noqa: RUF001
        '"gross weight of the loaded trailer"'
    )
    numbers = part(page, "NUMBERS OF THE RULE")
    assert numbers[0].startswith("lightest: 10 %, from 2012-01-01, at rules/north-america/")
    assert numbers[1].startswith("Source: Livestock Trailer Safety,")


def test_metric_units_keep_what_was_written() -> None:
    """720.18 lb of 3,320 lb by hand: tongue 230 + 1420 x (167 - 109.352) / 167.

    In kg 326.67 of 1,505.9, at most 15 % of it: 225.89 kg. 326.67 - 225.89 = 100.78.
    """
    page = told("loads/too-far-forward", TONGUE, "--units", "si")
    assert "articles.1.weight: 644.1 kg, written '1420 lb'" in page
    arithmetic = part(page, "THE ARITHMETIC")
    assert "Found: tongue weight = 326.67 kg" in arithmetic
    assert arithmetic[-1] == (
        "Verdict: not met; 100.78 kg between found and limit, 44.6 % outside."
    )


def test_a_rule_not_met_names_the_fixes_a_check_names(monkeypatch: pytest.MonkeyPatch) -> None:
    # The arrangement that a check adds concerns the whole load, and takes seconds to search for.
    monkeypatch.setattr(NearestOnDemand, "found", None)
    done = explained("loads/too-far-forward", TONGUE, columns=2000)
    assert done.exit_code == 1
    change = part(done.stdout, "WHAT WOULD CHANGE IT")
    checked = (
        CliRunner()
        .invoke(application(), ["check", "loads/too-far-forward"], env={"COLUMNS": "2000"})
        .stdout
    )
    (first,) = [line for line in checked.splitlines() if line.startswith("1. ")][:1]
    enough, _, said = first.removeprefix("1. ").partition(". Or: ")
    assert change == [f"- To do: {said}", f"- Smallest fix: {enough}"]


def test_a_rule_not_stated_names_fields_and_their_meaning() -> None:
    done = explained("loads/missing-information", TONGUE, columns=2000)
    assert done.exit_code == 3
    page = re.sub(r"\n +", "\n", done.stdout)
    assert "moment of the loaded trailer's weight about the ball: not stated [" in page
    assert "Verdict: not stated." in part(page, "THE ARITHMETIC")
    assert part(page, "WHAT WOULD CHANGE IT") == [
        "- State articles.1.placed.x: Behind the ball to its end nearest the coupler.",
        "- State articles.1.placed.facing: Which way its own front faces.",
        "- State articles.1.cg.x: Behind the article's own front end.",
    ]


def test_too_close_to_call_names_the_corner_and_what_settles_it() -> None:
    """The profile's own sum: axle at most 2573 + 60 x 0.897 + 15 = 2642 lb, rated 2600 lb.

    More exactly 2,880 - 306.6 + 60 x 111.245 / 124 + 15 = 2,642.2 lb: the tongue is lightest and
    the machine heaviest there.
    """
    done = explained("loads/scale-tolerances", "axle-within-rating", columns=2000)
    assert done.exit_code == 3
    page = re.sub(r"\n +", "\n", done.stdout)
    arithmetic = part(page, "THE ARITHMETIC")
    assert "Found: load on the axle = 2,642.2 lb" in arithmetic
    corner = next(line for line in arithmetic if line.startswith("Calculated at the worst end"))
    assert "trailer.empty_tongue_weight 90 lb" in corner
    assert "articles.1.weight 2,020 lb" in corner
    (settle,) = part(page, "WHAT WOULD CHANGE IT")
    assert settle.startswith("- Measure articles.1.weight more closely: ")
    assert "(2,504.6 lb to 2,642.2 lb within the tolerances) [axle.load]" in page


def test_a_rule_that_does_not_apply_says_what_keeps_it_out() -> None:
    """A ball behind the truck is no gooseneck."""
    done = explained(IN_ORDER, "tongue-share-in-bed", columns=2000)
    assert done.exit_code == 0
    assert done.stdout.splitlines()[4] == "DOES NOT APPLY"
    (change,) = part(done.stdout, "WHAT WOULD CHANGE IT")
    assert change.startswith("- It would apply if this were otherwise: ")
    assert change.endswith(": no; wanted yes.")


def test_a_rule_of_a_place_elsewhere_is_not_worked_out() -> None:
    done = explained(IN_ORDER, "ca-tiedown-marked", columns=2000)
    assert done.exit_code == 0
    assert "In force: no. The trip does not touch CA" in done.stdout
    assert "THE ARITHMETIC" not in done.stdout
    assert part(done.stdout, "WHAT WOULD CHANGE IT") == ["- A trip that touches CA."]


def test_one_axle_in_full_and_the_other_by_its_verdict() -> None:
    """Equalised axles carry alike, so the one of two that is named first decides."""
    page = told("loads/too-far-forward", "axle-within-rating")
    assert page.splitlines()[4] == "MET, decided by axle front"
    assert part(page, "THE OTHERS - 1 axle besides it") == ["- axle rear: met"]


@pytest.mark.parametrize("each", ["article", "tiedown", "axle"])
def test_every_subject_is_named_once(each: str) -> None:
    rulebooks = shipped_rules()
    profile = read_profile(
        shipped_folder("profiles") / "loads/gooseneck-two-articles-in-order.yaml", None
    )
    done = check_profile(profile, rulebooks, _day(profile.load({}).trip.date))
    finding = next(
        found
        for found in done.findings
        if found.rule.for_each == each and found.verdict is Verdict.MET
    )
    page = told("loads/gooseneck-two-articles-in-order", finding.rule.id)
    assert finding.subject is not None
    assert f"MET, decided by {finding.subject.name}\n" in page
    others = part(page, "THE OTHERS")
    expected = [
        f"- {subject.name}: {verdict}"
        for subject, verdict in finding.subjects
        if subject != finding.subject
    ]
    assert others == expected
    assert others


COMPANY = """
kind: amendment
id: district-policy
title: District towing policy
layer: company
jurisdiction: any
"""
HEAVIER = """
changes:
  - rule: tongue-share-ball
    threshold: lightest
    was: 10 %
    value: 12 %
    from: 2026-01-01
    common_practice: yes
    by: R. Alder
    because: The road to Cinder Rim is steep.
"""
REPEAL = """
repeals:
  - rule: tongue-share-ball
    from: 2026-01-01
    common_practice: yes
    by: R. Alder
    because: Weighed on a scale instead.
"""


def test_an_amended_number_shows_the_whole_chain(tmp_path: Path) -> None:
    """12 % of 2,340 lb is 280.8 lb; 272.74 lb misses it by 8.0581 lb, 2.9 %."""
    file = tmp_path / "policy.yaml"
    file.write_text(COMPANY + HEAVIER)
    done = explained(IN_ORDER, TONGUE, "--rules", "shipped", "--rules", str(file), columns=2000)
    page = re.sub(r"\n +", "\n", done.stdout)
    assert done.exit_code == 1, done.output
    chain = part(page, "NUMBERS OF THE RULE")
    assert chain[0].startswith("lightest: 12 %, from 2026-01-01, at ")
    assert chain[1].startswith(
        "Changed: lightest 12 % since 2026-01-01 by District towing policy (R. Alder) in place of "
        "10 % (Livestock Trailer Safety"
    )
    assert chain[1].endswith("The road to Cinder Rim is steep.")
    before = next(line for line in chain if line.startswith("Before: "))
    assert before.startswith("Before: 10 %, from 2012-01-01, at rules/north-america/")
    assert "Verdict: not met; 8.0581 lb between found and limit, 2.9 % outside." in page


def test_a_repealed_rule_says_who_repealed_it(tmp_path: Path) -> None:
    file = tmp_path / "policy.yaml"
    file.write_text(COMPANY + REPEAL)
    done = explained(IN_ORDER, TONGUE, "--rules", "shipped", "--rules", str(file), columns=2000)
    assert done.exit_code == 0, done.output
    assert (
        "In force: no; repealed since 2026-01-01 by District towing policy: Weighed on a scale "
        "instead." in done.stdout
    )
    assert part(done.stdout, "WHAT WOULD CHANGE IT") == ["- A day before it was repealed."]


def test_a_should_rule_not_met_does_not_end_with_one() -> None:
    """The front rail takes the tyres; advice alone never holds a load."""
    rulebooks = shipped_rules()
    profile = read_profile(shipped_folder("profiles") / "loads/too-far-forward.yaml", None)
    done = check_profile(profile, rulebooks, _day(profile.load({}).trip.date))
    advice = [
        found.rule.id
        for found in done.findings
        if found.verdict is Verdict.NOT_MET and found.rule.level == "should"
    ]
    assert advice
    assert explained("loads/too-far-forward", advice[0]).exit_code == 0


def test_an_unknown_rule_names_the_nearest() -> None:
    done = explained(IN_ORDER, "tongue-share-bal")
    assert done.exit_code == 2
    assert "found no rule 'tongue-share-bal'" in done.stderr
    assert "did you mean 'tongue-share-ball'?" in done.stderr


def test_sixty_columns_without_colour() -> None:
    """No line is wider than the page, and no escape sequence stands in it."""
    done = CliRunner().invoke(
        application(), ["explain", IN_ORDER, TONGUE], env={"COLUMNS": "60", "NO_COLOR": "1"}
    )
    assert "\x1b" not in done.stdout
    assert max(map(len, done.stdout.splitlines())) <= 60
    assert "\n    Found: tongue weight = 272.74 lb\n" in done.stdout


@pytest.mark.parametrize(
    "load", ["missing-information", "rear-straps-only", "gooseneck-two-articles-in-order"]
)
def test_every_shipped_rule_is_explained(load: str) -> None:
    """Whatever the verdict: it is named, a change is named, and the caution stands below."""
    rulebooks = shipped_rules()
    profile = read_profile(shipped_folder("profiles") / "loads" / f"{load}.yaml", None)
    done = check_profile(profile, rulebooks, _day(profile.load({}).trip.date))
    verdicts = {found.rule.id: found.verdict for found in done.findings}
    for book in rulebooks.books:
        for rule in book.rules:
            printed = StringIO()
            worked = explain(profile, done, rulebooks, rule.id)
            print_explanation(worked, Console(file=printed, width=2000), US)
            page = printed.getvalue()
            verdict = verdicts.get(rule.id, Verdict.DOES_NOT_APPLY)
            assert page.splitlines()[4].startswith(verdict.upper()), rule.id
            assert part(page, "WHAT WOULD CHANGE IT"), rule.id
            assert CAUTION in page, rule.id
            assert "nan" not in re.findall(r"\w+", page), rule.id


def _day(text: str | None) -> date:
    assert text is not None
    return date.fromisoformat(text)
