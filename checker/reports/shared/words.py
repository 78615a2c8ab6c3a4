"""Words shared by all reports: margins, sources, changed numbers, fixes, cautions."""

from collections.abc import Mapping, Sequence

from checker.evaluation.check import Check
from checker.evaluation.finding import Finding
from checker.evaluation.gate import counts_things
from checker.load.model import Variance
from checker.mechanics.restraint.governs import Held
from checker.reports.shared.glossary import words_of
from checker.rulebooks.citations import Citation
from checker.rulebooks.editions import is_as_before
from checker.rulebooks.model import TEXT_SEEN, DatedValue, Threshold
from checker.rulebooks.verdicts import Verdict

CAUTIONS = (
    "This report supports the walk-around and never replaces it.",
    "The makers' ratings and manuals, local law and a qualified person come first.",
    "It checks only what the profile states, by the rules listed, as read on the dates given.",
)
HOOK_ANEW = "Hook the tiedowns at the new position, then check the load again."
MOST_G = 9.995
_EDGE = 2
"""The number of contacts that form an edge to tip over."""
_LARGEST_SHARE_TOLD = 9.99


def margin_words(finding: Finding) -> str | None:
    """The distance to the limit as a share of it; None for counts, which are clear without."""
    margin = finding.margin
    if margin is None or counts_things(finding):
        return None
    return share_of_limit_words(margin)


def share_of_limit_words(margin: float) -> str:
    """A distance to a limit in words, from its share of the limit."""
    if margin == 0:
        return "at the limit"
    side = "inside" if margin > 0 else "outside"
    share = abs(margin)
    if share > _LARGEST_SHARE_TOLD:
        return f"far {side}"
    return f"just {side}" if share < 0.0005 else f"{share:.1%} {side}".replace("%", " %")


def subject_that_decides(finding: Finding, check: Check) -> str:
    """The article, tiedown or axle that decides and a colon; empty for the only article."""
    subject = finding.subject
    if subject is None or (subject.each == "article" and len(check.load.articles) == 1):
        return ""
    return f"{words_of(check.load).name(subject)}: "


def on_the_same_subject(finding: Finding, check: Check) -> list[Finding]:
    """Other rules with a figure on the same subject that were decided here too."""
    about = finding.rule.about
    if about is None:
        return []
    decided = (Verdict.MET, Verdict.NOT_MET, Verdict.TOO_CLOSE)
    return [
        other
        for other in check.findings
        if other.rule.about == about and other is not finding and other.verdict in decided
    ]


def is_strictest(finding: Finding, others: Sequence[Finding]) -> bool:
    """Whether this rule leaves less room than every other on its subject."""
    margin = finding.margin
    margins = [other.margin for other in others]
    return margin is not None and all(other is None or margin < other for other in margins)


def sources(finding: Finding) -> list[str]:
    """Every citation behind a finding, each once: the rule's, then its thresholds'.

    Behind a new edition of a document stand the figures that it has as before.
    """
    as_before: dict[str, list[str]] = {_cited(finding.rule.citation): []}
    for name, value in finding.thresholds:
        figures = as_before.setdefault(_cited(value.citation), [])
        if is_as_before(value):
            figures.append(f"{name.replace('_', ' ')} {value.text}")
    return [
        f"{words}: {', '.join(figures)}, as before" if figures else words
        for words, figures in as_before.items()
    ]


def _cited(citation: Citation) -> str:
    """A citation, with how it was read unless the text was seen, and with its new edition."""
    text = str(citation)
    source = citation.source
    if source and source.read_as != TEXT_SEEN:
        text += f" ({source.read_as})"
    return f"{text}, {source.edition}" if source and source.replaces else text


def amended_words(finding: Finding) -> list[str]:
    """For each amended threshold: who set it, since when, the old value, and why."""
    return [
        changed_words(name.replace("_", " "), value, finding.rule.thresholds[name])
        for name, value in finding.thresholds
        if value.change is not None
    ]


def changed_words(name: str, value: DatedValue, threshold: Threshold) -> str:
    """One amended number: who set it, since when, the old value, and why."""
    change, old = value.change, value.replaces
    assert change is not None
    by = f" ({change.by})" if change.by else ""
    text = f"Changed: {name} {value.text} since {value.starts} by {change.amendment.title}{by}"
    if old is not None:
        looser = threshold.looser(value.quantity, old)
        text += ", which is less strict," if looser else ""
        text += f" in place of {old.text}"
        text += f" by {old.change.amendment.title}" if old.change else f" ({old.citation})"
    return f"{text}. {change.because}" if change.because else f"{text}."


def variance_words(variance: Variance) -> str:
    """Who permits to go against the rule, until when, why and on what condition."""
    return (
        f"until {variance.ends} by {variance.by}: {variance.because} "
        f"On condition: {variance.conditions}"
    )


def whose_loads(variance: Variance) -> str:
    """The loads that a variance of a register is for."""
    files = f"loads with {join_words(sorted(variance.uses))}" if variance.uses else "every load"
    return f"{files}, hauled by {crew_words(variance)}" if variance.crews else files


def crew_words(variance: Variance) -> str:
    """The crews for whose hauls alone a variance counts; empty where it is for all."""
    return f"crew {join_words(sorted(variance.crews), 'or')}" if variance.crews else ""


def percent(share: float) -> str:
    """A share in per cent, with no more figures than needed: 5 %, 2.5 %."""
    return f"{share * 100:.3g} %"


def number_of(number: int, thing: str) -> str:
    """A count with its noun: 1 rule, 2 rules."""
    return f"{number} {thing}{'' if number == 1 else 's'}"


def g_words(acceleration: float) -> str:
    """An acceleration in g; 10 is the greatest value searched."""
    return "10 g or more" if acceleration >= MOST_G else f"{acceleration:.2f} g"


def failure_words(held: Held) -> str:
    """What fails first when an article starts to move."""
    governs = held.governs
    if governs is None:
        return "nothing fails up to that"
    moves = _MOVES.get(governs.motion or "", "moves")
    full = governs.tiedowns or governs.blocks
    match governs.kind:
        case "not held at rest":
            return "it does not stay in place even at rest"
        case "tiedown full" | "block full":
            return f"then {join_words(full)} at the limit, and it {moves}"
        case "tipping" if len(governs.carrying) == _EDGE:
            return f"then it tips over its {' and '.join(governs.carrying)}"
    return f"then it {moves}"


_MOVES = {"sliding": "slides", "lifting": "lifts", "turning": "turns", "tipping": "tips"}


def verdict_label(finding: Finding, words: Mapping[Verdict, str]) -> str:
    """The word in front of a rule: that of its verdict, or BROKEN in front of its broken form.

    `NOT MET Nothing holds it` would say no twice.
    """
    return "BROKEN" if finding.broken else words[finding.verdict]


def statement_alone(finding: Finding) -> str:
    """A rule as it reads where its verdict does not stand beside it.

    The title of an undecided rule is a statement that nobody knows to be true.
    """
    unknown = {Verdict.NOT_STATED: "Not known: ", Verdict.TOO_CLOSE: "Too close to call: "}
    return unknown.get(finding.verdict, "") + finding.statement


def join_words(names: Sequence[str], joint: str = "and") -> str:
    """Names as a sentence lists them, at least one."""
    *most, last = names
    return f"{', '.join(most)} {joint} {last}" if most else last
