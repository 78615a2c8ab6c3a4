"""The page of a load: what is on it, to scale, escaped, and once."""

import itertools
import math
import re
from html import unescape

import pytest
from lxml import etree
from lxml import html as lxml_html
from msgspec.structs import replace

from checker.evaluation.gate import outcome_at
from checker.evaluation.outcome import Outcome
from checker.facts.catalogue import catalogue
from checker.reports.check_forms.html import index, load_page, page_names
from checker.reports.check_forms.html.compass import RADIUS, rounds
from checker.reports.check_forms.html.figures import bars
from checker.reports.check_forms.html.walkaround import checklist, stops
from checker.reports.shared.check_results import CheckedLoad
from checker.reports.shared.html.drawing import from_above, from_the_left
from checker.reports.shared.html.drawing_words import tiedown_state
from checker.reports.shared.scene import Projection
from checker.reports.shared.scene_building import build_scene
from checker.reports.shared.words import CAUTIONS
from checker.rulebooks.verdicts import Verdict
from checker.units.formatting import SI, US, System
from tests.reports.conftest import HOSTILE, Runs, named


def page_of(checked: CheckedLoad, runs: Runs, system: System = US) -> str:
    return load_page(replace(checked, system=system), runs(loads=[checked]))


def test_every_finding_that_concerns_the_load_stands_on_the_page_once(runs: Runs) -> None:
    for checked in runs().checked:
        undecided = [
            entry.book.id for entry in checked.check.in_force if entry.verdict is Verdict.NOT_STATED
        ]
        expected = [
            finding.rule.id
            for finding in checked.check.findings
            if finding.verdict is not Verdict.DOES_NOT_APPLY and finding.book.id not in undecided
        ]
        found = re.findall(r'id="rule-([^"]+)"', page_of(checked, runs))
        assert sorted(found) == sorted(expected)


def test_the_page_carries_outcome_first_things_cautions_and_digests(runs: Runs) -> None:
    checked = named(runs(), "rear-straps-only")
    text = unescape(page_of(checked, runs))
    assert "HOLD: do not leave until this is fixed" in text
    assert text.index("Hook one tiedown to the frame at each corner") < text.index('<h2 id="rules"')
    for caution in CAUTIONS:
        assert caution in text
    for entry in checked.check.in_force:
        if not entry.elsewhere:
            assert entry.book.digest in text


def test_nothing_of_a_hostile_title_becomes_markup(runs: Runs, hostile: CheckedLoad) -> None:
    text = page_of(hostile, runs)
    assert "<script" not in text
    assert "<i>x" not in text
    tree = lxml_html.fromstring(text)
    assert HOSTILE in tree.findtext(".//h1")
    listed = index(runs(loads=[hostile]), ["a.html"])
    assert "<script" not in listed
    assert HOSTILE in lxml_html.fromstring(listed).xpath("string(//a)")


def test_the_page_asks_for_nothing_else(runs: Runs) -> None:
    text = page_of(named(runs(), "gooseneck-two-articles-in-order"), runs)
    tree = lxml_html.fromstring(text)
    assert tree.xpath("//script|//link|//img|//iframe|//object") == []
    # Links lead into the page itself.
    assert all(address.startswith("#") for address in tree.xpath("//@src|//@href"))
    assert set(re.findall(r"https?://[^\"' )]+", text)) <= {"http://www.w3.org/2000/svg"}


def test_the_plan_is_to_scale(runs: Runs) -> None:
    checked = named(runs(), "side-by-side-in-order")
    drawing = from_above(build_scene(checked.check), US, {})
    # Deck 46 in to 166 in behind the ball, 76 in wide: 1 in is 2.54 cm, 1 cm is 1 on paper.
    assert drawing.deck is not None
    assert (drawing.deck.x, drawing.deck.width) == pytest.approx((116.8, 304.8), abs=0.06)
    assert (drawing.deck.y, drawing.deck.height) == pytest.approx((-96.5, 193.0), abs=0.06)
    # The machine stands at 52 in and is 104 in long; its centre of gravity at 109.35 in.
    (machine,) = drawing.machines
    assert (machine.box.x, machine.box.width) == pytest.approx((132.1, 264.2), abs=0.1)
    assert machine.cg is not None
    assert machine.cg.x == pytest.approx(277.7, abs=0.11)
    # The anchor front-left: 47 in behind the ball, 24 in to the left, which is down on paper.
    left = next(anchor for anchor in drawing.anchors if anchor.title == "front-left")
    assert (left.x, left.y) == pytest.approx((119.4, 61.0), abs=0.06)
    side = from_the_left(build_scene(checked.check), US, {})
    # The deck stands 24 in above the road, the ball 17 in.
    assert side.road == pytest.approx(61.0, abs=0.06)
    assert side.ball is not None
    assert side.ball.y == pytest.approx((24 - 17) * 2.54, abs=0.06)


@pytest.mark.parametrize("system", [US, SI])
def test_type_of_the_drawings_is_7_pt_on_paper_and_figures_stay_apart(
    runs: Runs, system: System
) -> None:
    # A view has half of a sheet of 216 mm with margins of 12 mm, and 45 mm at most of its height.
    wide, high = (216 - 24) / 2 - 3, 45.0
    for checked in runs().checked:
        scene = build_scene(checked.check)
        for drawing in (from_above(scene, system, {}), from_the_left(scene, system, {})):
            scale = min(wide / drawing.view[2], high / drawing.view[3])
            assert drawing.type_size * scale / 25.4 * 72 >= 7
            figures = [tick for tick in drawing.ticks if tick.label]
            assert len(figures) > 2
            for one, other in itertools.pairwise(figures[1:]):
                # A figure of this type is some 0.56 of its size wide.
                width = 0.56 * drawing.type_size * (len(one.label) + len(other.label)) / 2
                assert other.x - one.x > width


def test_what_reaches_past_the_deck_is_marked_on_every_side(runs: Runs) -> None:
    scene = build_scene(named(runs(), "side-by-side-in-order").check)
    (article,) = scene.articles
    # The deck ends 166 in behind the ball and is 76 in wide: 38 in to each side.
    wide = replace(article.box, rear=4.3, left=1.2)
    past = (Projection("rear", 4.3 - 166 * 0.0254), Projection("left", 1.2 - 38 * 0.0254))
    scene = replace(scene, articles=(replace(article, box=wide, projections=past),))
    (drawn,) = from_above(scene, US, {}).machines
    behind, beside = drawn.over
    assert (behind.x, behind.width) == pytest.approx((421.6, 8.4), abs=0.1)
    assert (beside.y, beside.height) == pytest.approx((96.5, 23.5), abs=0.1)
    (seen,) = from_the_left(scene, US, {}).machines
    assert [part.width for part in seen.over] == pytest.approx([8.4], abs=0.1)


def test_both_views_are_drawn_with_every_tiedown(runs: Runs) -> None:
    checked = named(runs(), "gooseneck-two-articles-in-order")
    drawing = from_above(build_scene(checked.check), US, {})
    assert [line.badge.label for line in drawing.tiedowns] == [str(n) for n in range(1, 9)]
    badges = [(line.badge.x, line.badge.y) for line in drawing.tiedowns]
    assert len(set(badges)) == 8


def test_a_tiedown_is_over_only_where_its_article_is_not_held(runs: Runs) -> None:
    # By the elastic figure, friction left out, the pallet's rear straps carry twice their limit;
    # with friction the pallet is held harder than any rule wants.
    scene = build_scene(named(runs(), "gooseneck-two-articles-in-order").check)
    rear = scene.tiedowns[-1]
    assert rear.carries["rearward"] > 1
    assert tiedown_state(rear, []) == "full"
    assert tiedown_state(rear, ["rearward"]) == "over"
    assert tiedown_state(rear, ["left"]) == "full"
    unknown = build_scene(named(runs(), "missing-information").check).tiedowns[0]
    assert tiedown_state(unknown, []) == "unknown"


def test_bars_are_shares_of_ratings(runs: Runs) -> None:
    checked = named(runs(), "overloaded-axle-below-gvwr")
    found = {(bar.label, bar.rating): bar for bar in bars(checked.check, US, 0.05)}
    axle, gross = (
        next(bar for (label, _), bar in found.items() if label.startswith(start))
        for start in ("load on the axle", "gross weight of the loaded trailer")
    )
    assert axle.state == "over"
    # By hand, as the head of the profile tells: 2,634 lb on an axle rated 2,600 lb is 101.3 %, on a
    # bar that ends at 125 %.
    assert (axle.carried, axle.share) == ("2,634 lb", "101 %")
    assert axle.width == pytest.approx(100 * 2634 / 2600 / 1.25, abs=0.02)
    assert axle.limit == 80.0
    assert gross.state != "over"
    assert [bar.width for bar in bars(checked.check, US, 0.05)] == sorted(
        (bar.width for bar in found.values()), reverse=True
    )
    assert catalogue()["axle.load"].label in axle.label


def test_the_round_diagram_tells_what_the_rules_tell(runs: Runs) -> None:
    checked = named(runs(), "rear-straps-only")
    (diagram,) = rounds(checked.check, build_scene(checked.check))
    ways = {way.way: way for way in diagram.ways}
    # README's HELD section of the same load: 0.30 g rearward against 0.5 g of 393.102.
    assert (ways["rearward"].held, ways["rearward"].wanted) == ("0.30 g", "0.5 g")
    assert not ways["rearward"].enough
    assert ways["forward"].enough
    points = [tuple(map(float, point.split(","))) for point in diagram.outline.split()]
    assert len(points) == 36
    # Forward is to the left; the outline is that of a load that is alike on both sides.
    assert points[0][1] == pytest.approx(0.0, abs=0.05)
    assert points[0][0] < 0
    for one, other in zip(points[1:], reversed(points[1:]), strict=True):
        assert (one[0], one[1]) == pytest.approx((other[0], -other[1]), abs=0.5)


def test_no_diagram_without_the_figures_it_takes(runs: Runs) -> None:
    check = named(runs(), "missing-information").check
    assert list(rounds(check, build_scene(check))) == []


def test_chart_and_plan_look_the_same_way(runs: Runs) -> None:
    checked = named(runs(), "side-by-side-in-order")
    plan = from_above(build_scene(checked.check), US, {})
    assert plan.ball is not None
    assert plan.deck is not None
    # The ball is ahead of the deck, on the left of the paper; the anchors of the left side at
    # the bottom, where y grows.
    assert plan.ball.x < plan.deck.x
    left = next(anchor for anchor in plan.anchors if anchor.title == "front-left")
    assert left.y > 0
    (diagram,) = rounds(checked.check, build_scene(checked.check))
    named_at = {way.way: way.name_at[:2] for way in diagram.ways}
    assert named_at["forward"][0] < 0 < named_at["rearward"][0]
    assert named_at["right"][1] < 0 < named_at["left"][1]
    # A hold of one direction is drawn where its name is: heading 0 is forward, 9 of 36 left.
    points = [tuple(map(float, point.split(","))) for point in diagram.outline.split()]
    assert points[0][0] < 0 < points[9][1]


def test_the_chart_marks_where_it_is_cut_off(runs: Runs) -> None:
    checked = named(runs(), "gooseneck-two-articles-in-order")
    charts = {each.article: each for each in rounds(checked.check, build_scene(checked.check))}
    # The pallet is held with 2.55 g forward and 3.67 g to the sides, on a chart that ends at 2 g.
    pallet = charts["pallet"]
    assert pallet.clipped.startswith("The chart ends at 2 g")
    for side in pallet.cuts:
        for end in side.split():
            assert math.hypot(*map(float, end.split(","))) == pytest.approx(RADIUS, abs=0.1)
    assert len(pallet.cuts) > 10
    # Not a part of what folds away or what paper leaves out.
    (words,) = lxml_html.fromstring(page_of(checked, runs)).xpath(
        f"//p[normalize-space(.)='{pallet.clipped}']"
    )
    assert "screen" not in words.get("class").split()
    for each in charts.values():
        assert bool(each.cuts) == bool(each.clipped)


def test_the_walk_around_asks_each_thing_once_and_says_what_is_not_so(runs: Runs) -> None:
    checked = named(runs(), "rear-straps-only")
    ticks = checklist(checked.check)
    assert len({tick.what for tick in ticks}) == len(ticks)
    assert [tick.state for tick in ticks if tick.wanting] == ["NO, as stated in the profile"]
    planned, rules = stops(checked.check, US)
    assert planned == ["after 12 mi"]
    assert stops(checked.check, SI)[0] == ["after 19.3 km"]
    assert {rule.wanting for rule in rules} == {False}


def test_the_pages_of_a_run_have_names_of_their_own(runs: Runs, hostile: CheckedLoad) -> None:
    run = runs(loads=[hostile, hostile, *runs().checked])
    names = page_names(run)
    assert len(set(names)) == len(names)
    assert names[:2] == ["a-b.yaml.html".replace(".yaml", ""), "a-b-2.html"]
    listed = lxml_html.fromstring(index(run, names))
    outcomes = [outcome_at(each.check, run.fail_on, run.near) for each in run.checked]
    words = listed.xpath("//strong/text()")
    assert words.count("HOLD") == outcomes.count(Outcome.HOLD)
    pages = [each for each in listed.xpath("//a/@href") if "#" not in each]
    assert sorted(pages) == sorted(names)


def test_the_same_load_gives_the_same_bytes(runs: Runs) -> None:
    checked = named(runs(), "machine-10000-lb")
    first = page_of(checked, runs)
    assert first == page_of(checked, runs)
    assert first != page_of(checked, runs, SI)
    assert etree.HTML(first) is not None
