"""The smallest change that meets a rule: that it does, that less does not, and what it breaks.

Expected values: limits written out by hand, and the plain check of the changed profile.
"""

from collections.abc import Callable, Mapping
from datetime import date
from typing import Any

import pytest

from checker.advice.fixes import Fix, fixes
from checker.advice.sweep import sweep
from checker.evaluation.check import Check, check
from checker.load.build import Profile
from checker.rulebooks.model import Rulebooks
from checker.rulebooks.verdicts import Verdict
from tests.shipped import only_rule

LB = 4.4482216152605  # N, exact
IN = 0.0254  # m, exact
DAY = date(2026, 5, 15)

Data = dict[str, Any]
Bundled = Callable[[str], Profile]
Written = Callable[[Data], Profile]
Rules = Callable[..., Rulebooks]

SATISFIED = (Verdict.MET, Verdict.DOES_NOT_APPLY)


def found_by(profile: Profile, books: Rulebooks) -> dict[str, tuple[Fix, ...]]:
    return fixes(profile, check(profile.load(), books, DAY), books)


def article_of(profile: Profile, fix: Fix) -> int:
    names = [article.name for article in profile.load().articles]
    return names.index(fix.article)


def applied(profile: Profile, fix: Fix, amount: float) -> Profile:
    """The profile written anew with `amount` of what the fix changes; nothing of the advice used.

    A move in metres from where it stands, a weight in newtons, a working load limit in newtons.
    """
    load, index = profile.load(), article_of(profile, fix)
    article, at = load.articles[index], ("articles", index)
    texts: dict[tuple[str | int, ...], str] = {}
    if fix.kind == "move":
        texts[(*at, "placed", "x")] = f"{float(article.placed.x) + amount!r} m"
    elif fix.kind == "lighten":
        share = amount / float(article.weight)
        texts[(*at, "weight")] = f"{amount!r} N"
        for end in ("front", "rear"):
            path = (*at, "axles", end, "weight")
            if f"articles.{index + 1}.axles.{end}.weight" in load.origins:
                axle = getattr(article.axles, end)
                texts[path] = f"{float(axle.weight) * share!r} N"
    else:
        for number, tiedown in enumerate(load.tiedowns or ()):
            for part in ("marked", "hooks", "tensioner"):
                name = f"{part}_working_load_limit"
                rating = float(getattr(tiedown, name))
                if tiedown.article is article and rating < amount:
                    texts[("tiedowns", number, name)] = f"{amount!r} N"
    return profile.replaced(texts)


def verdicts(profile: Profile, books: Rulebooks) -> dict[str, Verdict]:
    done: Check = check(profile.load(), books, DAY)
    return {each.rule.id: each.verdict for each in done.findings}


def broken_must_rules(books: Rulebooks, found: Mapping[str, Verdict]) -> set[str]:
    must = {rule.id for book in books.books for rule in book.rules if rule.level == "must"}
    return {name for name, verdict in found.items() if verdict is Verdict.NOT_MET} & must


def ids(fix: Fix) -> set[str]:
    return {rule.id for rule in fix.breaks}


# --- every bundled load that is out of order ------------------------------------------------------

OUT_OF_ORDER = (
    "too-far-forward",
    "too-far-back",
    "under-rated-straps",
    "overloaded-axle-below-gvwr",
    "rear-straps-only",
    "accessory-hook",
)

# How near to the smallest change a fix has to be: a hundredth of a pound, a ten-thousandth of an
# inch; where a linear programme is asked, which is tried at fewer values, a hundred times that.
FINE = {"move": 1e-4 * IN, "lighten": 0.01 * LB, "strengthen": 0.01 * LB}


@pytest.mark.parametrize("name", OUT_OF_ORDER)
def test_a_fix_meets_its_rule_and_a_little_less_does_not(
    name: str, bundled: Bundled, books: Rulebooks
) -> None:
    profile = bundled(name)
    today = verdicts(profile, books)
    found = found_by(profile, books)
    rules = {rule.id: rule for book in books.books for rule in book.rules}
    for rule_id, offered in found.items():
        assert today[rule_id] is Verdict.NOT_MET
        slow = any(fact.startswith("article.holds_") for fact in rules[rule_id].facts)
        for fix in offered:
            after = verdicts(applied(profile, fix, fix.value), books)
            assert after[rule_id] in SATISFIED, (rule_id, fix)
            less = nearer_to_today(fix, FINE[fix.kind] * (100 if slow else 1))
            if less is not None:
                almost = verdicts(applied(profile, fix, less), only_rule(books, rule_id))
                assert almost[rule_id] is Verdict.NOT_MET, (rule_id, fix, less)
            newly = broken_must_rules(books, after) - broken_must_rules(books, today)
            assert ids(fix) == newly, (rule_id, fix)


def nearer_to_today(fix: Fix, by: float) -> float | None:
    """A little less of the change; None where the change is hardly more than that."""
    if fix.kind == "move":
        return None if abs(fix.value) <= by else fix.value - (by if fix.value > 0 else -by)
    return fix.value + by if fix.kind == "lighten" else fix.value - by


def test_a_load_in_order_needs_no_fix(bundled: Bundled, books: Rulebooks) -> None:
    profile = bundled("loader-tractor-in-order")
    done = check(profile.load(), books, DAY)
    broken = {each.rule.id for each in done.findings if each.verdict is Verdict.NOT_MET}
    assert set(fixes(profile, done, books)) <= broken


# --- moving ---------------------------------------------------------------------------------------


def rig(**more: Any) -> Data:
    """2000 lb of trailer and a 1000 lb crate, 40 in long; the axle at 150 in, the crate at 70 in.

    The crate's weight stands 10 in behind its front end: 466.7 lb of it hang on the tongue.
    """
    return {
        "trailer": {
            "empty_weight": "2000 lb",
            "empty_tongue_weight": "0 lb",
            "suspension": "single",
            "axles": {"only": {"x": "150 in"}},
            "deck": {"front": "60 in", "rear": "240 in"},
        },
        "articles": [
            {
                "name": "crate",
                "type": "other",
                "weight": "1000 lb",
                "length": "40 in",
                "cg": {"x": "10 in", "y": "0 in"},
                "placed": {"x": "70 in", "y": "0 in", "facing": "forward"},
            }
        ],
        "tow_vehicle": {"front_restoration": "none"},
        **more,
    }


def only(found: Mapping[str, tuple[Fix, ...]], rule: str, kind: str) -> Fix:
    (fix,) = [each for each in found[rule] if each.kind == kind]
    return fix


def kinds(found: Mapping[str, tuple[Fix, ...]]) -> dict[str, list[str]]:
    return {rule: [fix.kind for fix in offered] for rule, offered in found.items()}


def test_it_moves_rearward_to_where_the_tongue_is_light_enough(
    written: Written, rules: Rules
) -> None:
    """Hand-calculated: 200 lb on the tongue at 110 in, 40 in behind where it stands."""
    books = rules(tongue="hitch.tongue_weight <= limit; 200 lb")
    fix = only(found_by(written(rig()), books), "tongue", "move")
    assert (fix.article, fix.breaks) == ("crate", ())
    assert fix.value / IN == pytest.approx(40, abs=1e-4)
    assert fix.value / IN >= 40 - 1e-6


def test_it_moves_forward_where_the_tongue_is_too_light(written: Written, rules: Rules) -> None:
    """Hand-calculated: 500 lb on the tongue at 65 in, 5 in ahead of where it stands."""
    books = rules(tongue="hitch.tongue_weight >= limit; 500 lb")
    fix = only(found_by(written(rig()), books), "tongue", "move")
    assert fix.value / IN == pytest.approx(-5, abs=1e-4)


def test_it_moves_the_shorter_way(written: Written, rules: Rules) -> None:
    """Hand-calculated: 100 lb either way of the axle, at 125 and 155 in; it stands at 138 in."""
    data = rig()
    data["articles"][0]["placed"]["x"] = "138 in"
    books = rules(uneven="abs(hitch.tongue_weight) >= limit; 100 lb")
    fix = only(found_by(written(data), books), "uneven", "move")
    assert fix.value / IN == pytest.approx(125 - 138, abs=1e-4)
    data["articles"][0]["placed"]["x"] = "142 in"
    fix = only(found_by(written(data), books), "uneven", "move")
    assert fix.value / IN == pytest.approx(155 - 142, abs=1e-4)


def test_it_does_not_move_off_the_deck(written: Written, rules: Rules) -> None:
    """The front end can stand at 60 in at the most: 533.3 lb; and at 200 in: less than nothing."""
    within = rules(tongue="hitch.tongue_weight >= limit; 533 lb")
    assert kinds(found_by(written(rig()), within)) == {"tongue": ["move"]}
    beyond = rules(tongue="hitch.tongue_weight >= limit; 534 lb")
    assert found_by(written(rig()), beyond) == {}


def test_nothing_moves_where_the_deck_is_not_stated(written: Written, rules: Rules) -> None:
    data = rig()
    del data["trailer"]["deck"]["rear"]
    books = rules(tongue="hitch.tongue_weight <= limit; 200 lb")
    assert kinds(found_by(written(data), books)) == {"tongue": ["lighten"]}


def test_each_article_that_helps_is_offered_by_its_name(written: Written, rules: Rules) -> None:
    """Hand-calculated: two alike put 933.3 lb on the tongue; one of them 40 in back 666.7 lb."""
    data = rig()
    data["articles"] = [{**data["articles"][0], "name": name} for name in ("left", "right")]
    books = rules(tongue="hitch.tongue_weight <= limit; 666.6666667 lb")
    offered = found_by(written(data), books)["tongue"]
    assert [(fix.kind, fix.article) for fix in offered] == [
        ("move", "left"),
        ("lighten", "left"),
        ("move", "right"),
        ("lighten", "right"),
    ]
    moves = [fix.value / IN for fix in offered if fix.kind == "move"]
    assert moves == pytest.approx([40, 40], abs=1e-4)


def pallet() -> Data:
    """The crate as goods that stand on their corners, untied: what holds them can be worked out."""
    data = rig(tiedowns=[])
    data["articles"][0] |= {"type": "palletised goods", "width": "4 ft", "friction": 0.5}
    data["articles"][0]["cg"]["z"] = "1 in"
    return data


@pytest.mark.parametrize("gap", [139.9, 136, 134, 12])
def test_a_rule_that_is_slow_to_work_out_is_tried_to_the_end_of_the_deck(
    written: Written, rules: Rules, gap: float
) -> None:
    """It stands 10 in from the front of the deck now, and 140 in from it at the very end."""
    slow = f"article.holds_left >= 0 and article.front_gap >= limit; {gap} in"
    fix = only(found_by(written(pallet()), rules(gap=slow)), "gap", "move")
    assert gap - 10 - 1e-6 <= fix.value / IN <= gap - 10 + 0.02


# --- what a fix breaks ----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("other", "breaks"),
    [
        ("article.front_gap <= limit; 49 in", {"other"}),
        ("article.front_gap <= limit; 51 in", set()),
        ("article.front_gap <= limit; 49 in; should", set()),  # advice does not hold a load
        ("article.front_gap <= limit; 9 in", set()),  # broken as it stands
        ("article.front_gap <= article.height", set()),  # not stated before and after
    ],
)
def test_what_a_fix_breaks_is_told(
    written: Written, rules: Rules, other: str, breaks: set[str]
) -> None:
    """The gap is 10 in as it stands and 50 in after the move."""
    books = rules(tongue="hitch.tongue_weight <= limit; 200 lb", other=other)
    assert ids(only(found_by(written(rig()), books), "tongue", "move")) == breaks


# --- lightening -----------------------------------------------------------------------------------


def test_it_is_lightened_to_what_the_limit_leaves(written: Written, rules: Rules) -> None:
    """Hand-calculated: 2700 lb less 2000 lb of trailer."""
    books = rules(fits="trailer.gross_weight <= limit; 2700 lb")
    found = found_by(written(rig()), books)
    assert kinds(found) == {"fits": ["lighten"]}  # moving it changes nothing
    fix = only(found, "fits", "lighten")
    assert fix.value / LB == pytest.approx(700, abs=0.001)
    assert fix.value / LB <= 700 + 1e-5  # 2700 lb and its comparison tolerance


def test_its_balance_is_kept_when_it_is_lightened(written: Written, rules: Rules) -> None:
    """Half the weight on both axles; hand-calculated: 200 lb of tongue at 428.6 lb of crate.

    The two axles stand at 0 and 20 in and weigh alike: the cg is 10 in behind the front end.
    """
    data = rig()
    del data["articles"][0]["cg"]["x"]
    data["articles"][0]["axles"] = {
        "front": {"x": "0 in", "weight": "500 lb"},
        "rear": {"x": "20 in", "weight": "500 lb"},
    }
    books = rules(tongue="hitch.tongue_weight <= limit; 200 lb")
    fix = only(found_by(written(data), books), "tongue", "lighten")
    assert fix.value / LB == pytest.approx(200 * 150 / 70, abs=0.001)


def test_nobody_takes_more_than_four_fifths_off(written: Written, rules: Rules) -> None:
    within = rules(fits="trailer.gross_weight <= limit; 2200.1 lb")
    assert kinds(found_by(written(rig()), within)) == {"fits": ["lighten"]}
    beyond = rules(fits="trailer.gross_weight <= limit; 2199 lb")
    assert found_by(written(rig()), beyond) == {}


# --- strengthening --------------------------------------------------------------------------------


def tied(*limits: tuple[float, float, float], anchor: float = 9000.0) -> Data:
    """The crate with straps of these ratings (marked, hooks, tensioner) in lb."""
    data = rig()
    data["trailer"]["anchors"] = {"ring": {"working_load_limit": f"{anchor} lb"}}
    data["articles"][0]["attachments"] = {"frame": {"working_load_limit": "no rating exists"}}
    data["tiedowns"] = [
        {
            "path": "direct",
            "device": "webbing",
            "anchor": "ring",
            "attachment": "frame",
            **{
                f"{part}_working_load_limit": f"{rating} lb"
                for part, rating in zip(("marked", "hooks", "tensioner"), ratings, strict=True)
            },
        }
        for ratings in limits
    ]
    return data


HALF = "article.aggregate_working_load_limit >= limit; 500 lb"


def test_all_its_tiedowns_are_exchanged_for_ones_strong_enough(
    written: Written, rules: Rules
) -> None:
    """Hand-calculated: half of each counts, two of them have to make 500 lb: 500 lb each."""
    found = found_by(written(tied((300, 300, 300), (400, 400, 400))), rules(half=HALF))
    assert kinds(found) == {"half": ["strengthen"]}
    fix = only(found, "half", "strengthen")
    assert fix.value / LB == pytest.approx(500, abs=0.001)
    assert fix.value / LB >= 500 - 1e-6


def test_a_tiedown_that_is_stronger_already_stays(written: Written, rules: Rules) -> None:
    """Hand-calculated: half of 800 lb is there already; the other has to have 200 lb."""
    found = found_by(written(tied((100, 100, 100), (800, 800, 800))), rules(half=HALF))
    assert only(found, "half", "strengthen").value / LB == pytest.approx(200, abs=0.001)


def test_hooks_and_tensioner_are_exchanged_with_it(written: Written, rules: Rules) -> None:
    """The hooks are the weakest part: they need 500 lb as the strap does."""
    found = found_by(written(tied((700, 200, 700), (700, 200, 700))), rules(half=HALF))
    assert only(found, "half", "strengthen").value / LB == pytest.approx(500, abs=0.001)


def test_no_strap_helps_an_anchor_that_is_too_weak(written: Written, rules: Rules) -> None:
    """Two anchors of 499 lb make 499 lb at most; of 501 lb just enough."""
    ratings = ((300, 300, 300), (300, 300, 300))
    assert found_by(written(tied(*ratings, anchor=499)), rules(half=HALF)) == {}
    enough = found_by(written(tied(*ratings, anchor=501)), rules(half=HALF))
    assert only(enough, "half", "strengthen").value / LB == pytest.approx(500, abs=0.001)


def test_nobody_sells_a_strap_twelve_times_as_strong(written: Written, rules: Rules) -> None:
    within = found_by(written(tied((50, 50, 50), (50, 50, 50))), rules(half=HALF))
    assert kinds(within) == {"half": ["strengthen"]}
    assert found_by(written(tied((40, 40, 40), (40, 40, 40))), rules(half=HALF)) == {}


def test_only_the_tiedowns_of_the_article_in_question_are_exchanged(
    written: Written, rules: Rules
) -> None:
    data = tied((300, 300, 300), (300, 300, 300), (200, 200, 200), (900, 900, 900))
    data["articles"].append({**data["articles"][0], "name": "box"})
    for number, tiedown in enumerate(data["tiedowns"]):
        tiedown["article"] = "crate" if number < 2 else "box"
    (fix,) = found_by(written(data), rules(half=HALF))["half"]
    assert (fix.kind, fix.article) == ("strengthen", "crate")
    assert fix.value / LB == pytest.approx(500, abs=0.001)


# --- where nothing helps --------------------------------------------------------------------------


def test_nothing_is_offered_where_nothing_helps(written: Written, rules: Rules) -> None:
    """An answer, and a rating that no weight or place changes."""
    data = rig(walkaround={"lamps_work": "no"})
    data["trailer"]["gvwr"] = "3000 lb"
    books = rules(lamps="walkaround.lamps_work", small="trailer.gvwr >= limit; 4000 lb")
    assert found_by(written(data), books) == {}


def test_a_rule_not_decided_gets_no_fix(written: Written, rules: Rules) -> None:
    books = rules(coupler="hitch.tongue_weight <= hitch.coupler_tongue_rating")
    assert found_by(written(rig()), books) == {}


def test_two_articles_of_which_each_is_too_much_get_no_fix_of_one(
    written: Written, rules: Rules
) -> None:
    """Worst of all articles decides: moving one leaves the other where it is."""
    data = rig()
    data["articles"] = [{**data["articles"][0], "name": name} for name in ("left", "right")]
    books = rules(gap="article.front_gap >= limit; 20 in")
    assert found_by(written(data), books) == {}


# --- what it costs --------------------------------------------------------------------------------


def test_all_adjustments_are_evaluated_together(
    bundled: Bundled, books: Rulebooks, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Eight rules, three adjustments: once for all candidates, twice narrower, once for the fixes.

    Once more where the first narrowing is beside the change.
    """
    rows: list[int] = []

    def counted(profile: Profile, values: Any, *more: Any) -> Any:
        rows.append(max(len(column) for column in values.values()))
        return sweep(profile, values, *more)

    monkeypatch.setattr("checker.advice.adjustment_search.sweep", counted)
    assert len(found_by(bundled("under-rated-straps"), books)) == 8
    assert len(rows) <= 5
    assert sum(rows) <= 600


def test_nothing_is_evaluated_where_no_rule_is_broken(
    bundled: Bundled, books: Rulebooks, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.delattr("checker.advice.adjustment_search.sweep")
    assert found_by(bundled("side-by-side-in-order"), books) == {}
