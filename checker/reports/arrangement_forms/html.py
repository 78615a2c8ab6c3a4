"""An arrangement as an HTML page for the cab: one file that needs no other, for screen or paper."""

from checker import __version__
from checker.evaluation.outcome import Outcome
from checker.reports.shared.arrangement.record import ArrangementReport, NoArrangement, first_line
from checker.reports.shared.arrangement_help import gear_need_lines, mark_room_lines
from checker.reports.shared.check_results import note_lines, warnings
from checker.reports.shared.glossary import words_of
from checker.reports.shared.html.drawing import from_above, from_the_left
from checker.reports.shared.html.drawing_words import missing_words, position_words
from checker.reports.shared.html.environment import template
from checker.reports.shared.outcome_words import headline, total_words
from checker.reports.shared.scene_building import build_scene
from checker.reports.shared.words import CAUTIONS

_STATES = {Outcome.HOLD: "hold", Outcome.OPEN: "open", Outcome.NO_RULE_BROKEN: "clear"}


def report(found: ArrangementReport | NoArrangement) -> str:
    """The page of an arrangement, or of a load that has none; always the same bytes."""
    page = template("arrangement.html.j2")
    if isinstance(found, NoArrangement):
        return page.render(
            found=None,
            title=found.load_title,
            file=found.file,
            on=found.on,
            why=found.why,
            reasons=found.reasons,
            cautions=CAUTIONS,
            version=__version__,
        )
    check, system = found.check, found.system
    scene = build_scene(check)
    return page.render(
        found=found,
        local=words_of(check.load),
        title=check.load.title,
        file=check.load.file,
        on=check.on.isoformat(),
        first_line=first_line(found),
        headline=headline(check),
        state=_STATES[check.outcome],
        counted=total_words(check.findings),
        notes=note_lines(check),
        warnings=[(each.words, str(each.location)) for each in warnings(check)],
        above=from_above(scene, system, {}),
        side=from_the_left(scene, system, {}),
        rooms=list(mark_room_lines(found.trials.rooms, system)),
        gear_needs=list(gear_need_lines(found.trials.gear_needs)),
        placed=position_words(scene, system),
        missing=missing_words(scene),
        cautions=CAUTIONS,
        version=__version__,
    )
