"""The load drawn to scale, with the figures that go with the drawing."""

from collections.abc import Iterator

from checker.reports.shared.deck_drawing import Drawing, plan, ruler_unit, side
from checker.reports.shared.glossary import Words
from checker.reports.shared.page import Page
from checker.reports.shared.scene import DrawnArticle, DrawnTiedown, Scene
from checker.reports.shared.words import join_words
from checker.units.formatting import FORCE, System, show, show_for_calculation

_WIDEST = 100
_DIGITS = 4
_MOST_FIELDS_NAMED = 6


def print_deck(scene: Scene, page: Page, system: System, words: Words, *, full: bool) -> None:
    """Print the load from above; with `full` from its left side too, with figures and legend."""
    columns = min(page.width, _WIDEST)
    _, unit = ruler_unit(system)
    drawings = [("above", plan(scene, columns, system, plain=page.plain))]
    if full:
        drawings.append(("its left side", side(scene, columns, system, plain=page.plain)))
    legend: dict[str, None] = {}
    for where, drawing in drawings:
        if drawing:
            page.heading(f"THE LOAD FROM {where.upper()} - to scale, in {unit} behind the ball")
            _draw(drawing, page)
            titles = {article.title for article in scene.articles}
            legend |= {
                f"{mark} {meaning if meaning in titles else words(meaning)}": None
                for mark, meaning in drawing.legend
            }
    if not legend:
        page.heading("THE LOAD FROM ABOVE - not drawn")
    if full:
        page.items(list(legend))
        _figures(scene, page, system, words)
    for article in scene.articles:
        if article.not_held:
            page.line(
                f"{article.title}: its {words('tiedowns')} and blocks alone do not keep it in "
                f"place when it is pushed {join_words(article.not_held, 'or')}",
                lead="- ",
            )
    if scene.missing:
        named = ", ".join(scene.missing[:_MOST_FIELDS_NAMED])
        rest = len(scene.missing) - _MOST_FIELDS_NAMED
        more = f" and {rest} more" if rest > 0 else ""
        page.line(f"Left out of the drawing, because it is not stated: {named}{more}")


def _figures(scene: Scene, page: Page, system: System, words: Words) -> None:
    """Where each article stands, and what its tiedowns carry."""
    for article in scene.articles:
        stands = ", ".join(_stands(article, system))
        if stands:
            page.line(f"{article.title}: {stands}.", lead="- ")
    carried = list(_carried(scene, system))
    for names, share in carried:
        page.line(f"{join_words(names)}: {share}", lead="- ")
    if carried:
        page.line(words("Calculated from how the tiedowns stretch, without friction."))


def _draw(drawing: Drawing, page: Page) -> None:
    for line in drawing.lines:
        page.drawn(line)


def _stands(article: DrawnArticle, system: System) -> Iterator[str]:
    """The position in figures, as far as stated."""
    box = article.box
    if box.front == box.front and box.rear == box.rear:
        yield f"from {_behind(box.front, system)} to {_behind(box.rear, system)} behind the ball"
    if article.facing:
        yield f"faces {article.facing}"
    if article.cg.x == article.cg.x:
        yield f"centre of gravity at {_behind(article.cg.x, system)}"
    for each in article.projections:
        yield f"sticks out {show(each.by, 'length', system)} past the {each.side} of the deck"


def _behind(position: float, system: System) -> str:
    return show_for_calculation(position, "length", system, digits=_DIGITS)


def _carried(scene: Scene, system: System) -> Iterator[tuple[list[str], str]]:
    """The share of its limit that each tiedown carries in the worst direction a rule asks about.

    Tiedowns with the same share are listed together.
    """
    by_words: dict[str, list[str]] = {}
    for tiedown in scene.tiedowns:
        if tiedown.carries:
            by_words.setdefault(_carries(tiedown, scene, system), []).append(tiedown.name)
    for words, names in by_words.items():
        yield names, f"each {words}" if len(names) > 1 else words


def _carries(tiedown: DrawnTiedown, scene: Scene, system: System) -> str:
    way, share = max(tiedown.carries.items(), key=lambda each: each[1])
    limit = show(tiedown.working_load_limit, FORCE, system)
    much = f"{share:.0%}".replace("%", " %")
    over = ", too much," if share > 1 else ""
    return (
        f"carries {much} of its {limit}{over} when the load is pushed {way} with "
        f"{scene.asked[way]:.2g} of its weight"
    )
