"""The words every report shares: found and wanted side by side, sources, cautions."""

import math
import re
from collections.abc import Iterable, Mapping, Sequence

import numpy as np
from msgspec import Struct

from checker.advice.fixes import Fix
from checker.evaluation.check import Check, Finding, Shown
from checker.evaluation.gate import counts_things, is_near
from checker.evaluation.outcome import Outcome
from checker.facts.catalogue import ANSWER, Fact
from checker.load.model import Variance
from checker.mechanics.restraint import Held
from checker.rulebooks.formula import Governing
from checker.rulebooks.model import DatedValue, Threshold
from checker.rulebooks.verdicts import Verdict
from checker.units.arithmetic import Number
from checker.units.formatting import System, show, show_apart, show_to_reckon
from checker.units.parsing import KINDS

CAUTIONS = (
    "This report supports the walk-around and never replaces it.",
    "The makers' ratings and manuals, local law and a qualified person come first.",
    "It judges only what the profile states, by the rules listed, as read on the dates given.",
)

_HEADLINES = {
    Outcome.HOLD: "HOLD: do not leave before this is mended",
    Outcome.OPEN: "OPEN: not everything could be decided",
    Outcome.NO_RULE_BROKEN: "NO RULE BROKEN, by what the profile states",
}

_OPERATORS = {
    ">=": "at least",
    "<=": "at most",
    ">": "more than",
    "<": "less than",
    "==": "exactly",
    "!=": "anything but",
}
_SPOKEN = {"*": " × ", "/": " / ", "+": " + ", "-": " - "}  # noqa: RUF001 - as people write it
_FUNCTIONS = {
    "min": "the least of ",
    "max": "the greatest of ",
    "abs": "the size of ",
    "ceil": "rounded up to a whole number ",
    "floor": "rounded down to a whole number ",
}
_DIGITS = 3
MOST_G = 9.995
_EDGE = 2
"""Contacts that make an edge to tip over."""
_TAPE_STEPS: Mapping[System, float] = {"us": 0.0254 / 4, "si": 0.01}
"""A quarter of an inch, a centimetre."""
_SCALE_STEPS: Mapping[System, float] = {"us": 4.4482216152605, "si": 9.80665}
"""A pound, a kilogram, in N."""
_ROUNDING = 1e-5
"""Share of a step that the search for a change leaves open."""
_LARGEST_SHARE_TOLD = 9.99
_PLAIN = KINDS["number"].dimension
_BY_DIMENSION = {
    KINDS[name].dimension: name
    for name in ("load", "length", "duration", "speed", "pressure", "moment", "spring_rate")
}


def headline(check: Check) -> str:
    """The outcome in words; advice that is not met, variances and doubts are never left unsaid."""
    unmet = [each for each in of_verdict(check, Verdict.NOT_MET, "should") if not each.variance]
    excused = [finding for finding in check.findings if finding.variance]
    said = []
    for verdict, words in ((Verdict.NOT_MET, "not met"), (Verdict.TOO_CLOSE, "too close to call")):
        number = sum(finding.verdict is verdict for finding in excused)
        if number:
            said.append(f"{number_of(number, 'rule')} {words} under a variance")
    words = _HEADLINES[check.outcome]
    if check.outcome is Outcome.NO_RULE_BROKEN and unmet:
        rules = number_of(len(unmet), "should-rule")
        words = f"NO MUST-RULE BROKEN, but {rules} not met: look at them before leaving"
    elif check.outcome is Outcome.NO_RULE_BROKEN and excused:
        words = "NO OTHER RULE BROKEN, by what the profile states"
    elif check.outcome is Outcome.OPEN and unmet:
        said.append(f"{number_of(len(unmet), 'should-rule')} not met")
    return "; ".join([words, *said, *warned_of(check)])


def warned_of(check: Check) -> list[str]:
    """What the headline says of doubtful figures and of places whose law nobody read."""
    said = [f"no rulebook read for {listed(check.unread)}"] if check.unread else []
    return said + ([number_of(len(check.doubts), "doubtful figure")] if check.doubts else [])


class FoundAndWanted(Struct, frozen=True):
    """The two sides of what decided a rule, in the reader's units."""

    found: str
    wanted: str


def found_and_wanted(finding: Finding, system: System) -> FoundAndWanted | None:
    """What the profile comes to and what the rule wants; None where nothing was compared."""
    deciding = finding.governing
    if deciding is None:
        return None
    return Speller(
        facts={used.fact.name: used.fact for used in finding.facts},
        thresholds=dict(finding.thresholds),
        values={used.fact.name: at_row(used.value, deciding.row) for used in finding.facts},
        system=system,
        metric=finding.metric_print,
    ).sides(deciding)


def at_row(value: Number, row: int) -> float:
    """A fact in the row that decides; what has no tolerance is the same in every row."""
    rows = np.atleast_1d(value)
    return float(rows[row] if len(rows) > 1 else rows[0])


def answer(value: float) -> str:
    """A yes/no value as a word."""
    if np.isnan(value):
        return "not stated"
    return "yes" if value == 1 else "no"


def _kind_of(
    left: str, right: str, facts: Mapping[str, Fact], thresholds: Mapping[str, DatedValue]
) -> str:
    """The kind a comparison is shown in: that of a single name on either side, else by its names.

    Shares are told from bare numbers by the names they are made of.
    """
    for side in (left, right):
        if side in facts and facts[side].kind != ANSWER:
            return facts[side].kind
    for side in (right, left):
        if side in thresholds:
            return thresholds[side].quantity.kind
    names = re.findall(r"[a-z][a-z0-9_.]*", f"{left} {right}")
    kinds = [facts[name].kind for name in names if name in facts]
    kinds += [thresholds[name].quantity.kind for name in names if name in thresholds]
    for kind in kinds:
        if kind not in ("ratio", "number", "count", ANSWER):
            return kind
    return "ratio" if "ratio" in kinds else "number"


def kind_for(shown: Shown) -> str:
    """The kind an extra figure is shown in: by its dimension; whole steps are a bare number."""
    formula = shown.formula
    if formula.dimension is None or formula.dimension == _PLAIN:
        return "number" if re.search(r"\b(ceil|floor)\b", formula.text) else "ratio"
    return _BY_DIMENSION.get(formula.dimension, "number")


class Speller(Struct, frozen=True):
    """Puts the labels and values of a rule's names in place of the names."""

    facts: Mapping[str, Fact]
    thresholds: Mapping[str, DatedValue]
    values: Mapping[str, float]
    system: System
    metric: bool
    digits: int = _DIGITS
    reckon: bool = False
    """Figures of one kind stand in one unit, for a calculator rather than a tape."""

    def sides(self, deciding: Governing) -> FoundAndWanted:
        """Both sides of a comparison, or of a yes/no name."""
        if deciding.operator is None or deciding.right is None:
            fact = self.facts[deciding.left]
            return FoundAndWanted(
                f"{fact.label}: {answer(deciding.left_value)}", answer(deciding.right_value)
            )
        actual, limit = self.values_of(deciding)
        found = f"{self.sentence(deciding.left)} {actual}"
        wanted = f"{_OPERATORS[deciding.operator]} {limit}"
        if is_worked_out(deciding.right):
            wanted += f" = {self.arithmetic(deciding.right)}"
        return FoundAndWanted(found, wanted)

    def values_of(self, deciding: Governing) -> tuple[str, str]:
        """What both sides of a comparison come to, in one unit and told apart."""
        return show_apart(
            deciding.left_value,
            deciding.right_value,
            self.kind_of(deciding),
            self.system,
            digits=self.digits,
        )

    def kind_of(self, deciding: Governing) -> str:
        """The kind that both sides of a comparison are shown in."""
        return _kind_of(deciding.left, deciding.right or "", self.facts, self.thresholds)

    def formula(self, text: str) -> str:
        """A whole formula in words: labels between quotes, thresholds as they are printed."""
        parts = re.split(r"\b(and|or)\b", " ".join(text.split()))
        return "".join(self._clause(part) for part in parts)

    def _clause(self, text: str) -> str:
        """A part of a formula between `and`s and `or`s; a chain reads on with `which`."""
        signs = iter(("", ", which"))

        def spoken(match: re.Match[str]) -> str:
            word = match[0].strip()
            if word in _OPERATORS:
                return f"{next(signs, '')} is {_OPERATORS[word]} "
            if word in _SPOKEN:
                return _SPOKEN[word]
            if word in self.facts:
                return f'"{self.facts[word].label}"'
            if word in self.thresholds:
                return f"{self._word(word)} [{word.replace('_', ' ')}]"
            return _FUNCTIONS.get(word, word.replace("_", " "))

        return re.sub(r"\s*(?:[<>]=?|==|[*/+-])\s*|[a-z][a-z0-9_.]*", spoken, text)

    def sentence(self, text: str) -> str:
        """The left side in words: a fact's label, or arithmetic with values and an equals sign."""
        if text in self.facts:
            return self.facts[text].label
        return f"{self.arithmetic(text)} ="

    def arithmetic(self, text: str) -> str:
        """An expression with each name as its label and value."""
        return re.sub(r"[a-z][a-z0-9_.]*", lambda name: self._word(name[0]), with_signs(text))

    def _word(self, name: str) -> str:
        if name in self.thresholds:
            return self.threshold(self.thresholds[name])
        if name in self.facts:
            fact = self.facts[name]
            return f"{fact.label} {self._value(name)}"
        return name

    def threshold(self, value: DatedValue) -> str:
        """A number of the rule as printed; to reckon with, in the reader's units beside it."""
        text = (value.metric_text if self.metric else None) or value.text
        if not self.reckon:
            return text
        kind, number = value.quantity.kind, value.value(metric=self.metric)
        figure = show_to_reckon(number, kind, self.system, digits=self.digits)
        return text if figure.replace(",", "") == text.replace(",", "") else f"{text} ({figure})"

    def _value(self, name: str) -> str:
        shown = show_to_reckon if self.reckon else show
        return shown(self.values[name], self.facts[name].kind, self.system, digits=self.digits)


def with_signs(text: str) -> str:
    """Arithmetic with its signs as people write them."""
    return re.sub(r"\s*([*/+-])\s*", lambda sign: _SPOKEN[sign[1]], text).strip()


def is_worked_out(side: str) -> bool:
    """Whether a side of a comparison is arithmetic, and not a single name or number."""
    return re.search("[a-z]", side) is not None and re.search(r"[-+*/(]", side) is not None


def margin_words(finding: Finding) -> str | None:
    """The distance to the limit as a share of it; None for counts, which speak for themselves."""
    margin = finding.margin
    if margin is None or counts_things(finding):
        return None
    return margin_told(margin)


def margin_told(margin: float) -> str:
    """A distance to a limit that is a share of it."""
    if margin == 0:
        return "at the limit"
    side = "inside" if margin > 0 else "outside"
    share = abs(margin)
    if share > _LARGEST_SHARE_TOLD:
        return f"far {side}"
    return f"just {side}" if share < 0.0005 else f"{share:.1%} {side}".replace("%", " %")


def on_the_same_subject(finding: Finding, check: Check) -> list[Finding]:
    """Other rules that rule on the same subject with a figure of their own, decided here too."""
    decided = (Verdict.MET, Verdict.NOT_MET, Verdict.TOO_CLOSE)
    return [
        other
        for other in check.findings
        if other is not finding
        and finding.rule.about is not None
        and other.rule.about == finding.rule.about
        and other.verdict in decided
    ]


def is_strictest(finding: Finding, others: Sequence[Finding]) -> bool:
    """Whether this rule leaves less room than every other on its subject."""
    margin = finding.margin
    margins = [other.margin for other in others]
    return margin is not None and all(other is None or margin < other for other in margins)


def sources(finding: Finding) -> list[str]:
    """Every citation behind a finding, each once: the rule's, then its thresholds'."""
    citations = [finding.rule.citation]
    citations += [value.citation for _, value in finding.thresholds]
    words = []
    for citation in citations:
        text = str(citation)
        if citation.source and citation.source.read_as != "text seen":
            text += f" ({citation.source.read_as})"
        words.append(text)
    return list(dict.fromkeys(words))


def amended_words(finding: Finding) -> list[str]:
    """For each threshold that an amendment changed: who, since when, instead of what, and why."""
    return [
        changed_words(name.replace("_", " "), value, finding.rule.thresholds[name])
        for name, value in finding.thresholds
        if value.change is not None
    ]


def changed_words(name: str, value: DatedValue, threshold: Threshold) -> str:
    """One number that an amendment set: who, since when, instead of what, and why."""
    change, old = value.change, value.replaces
    assert change is not None
    by = f" ({change.by})" if change.by else ""
    text = f"Changed: {name} {value.text} since {value.starts} by {change.amendment.title}{by}"
    if old is not None:
        looser = threshold.looser(value.quantity, old.quantity)
        text += ", which asks less," if looser else ""
        text += f" in place of {old.text}"
        text += f" by {old.change.amendment.title}" if old.change else f" ({old.citation})"
    return f"{text}. {change.because}" if change.because else f"{text}."


def variance_words(variance: Variance) -> str:
    """Who permits to go against the rule, until when, why and on what condition."""
    return (
        f"until {variance.ends} by {variance.by}: {variance.because} "
        f"On condition: {variance.conditions}"
    )


def percent(share: float) -> str:
    """A share without more figures than it needs: 5 %, 2.5 %."""
    return f"{share * 100:.3g} %"


def number_of(number: int, thing: str) -> str:
    """A count with its noun: 1 rule, 2 rules."""
    return f"{number} {thing}{'' if number == 1 else 's'}"


def to_look_at_again(check: Check) -> list[str]:
    """Documents behind the findings whose day to look for changes has passed, by title."""
    cited = [finding.rule.citation for finding in check.findings]
    cited += [value.citation for finding in check.findings for _, value in finding.thresholds]
    stale = {each.source for each in cited if each.source and each.source.look_again < check.on}
    return sorted(f"{source.title} (since {source.look_again})" for source in stale)


def counts(findings: Iterable[Finding]) -> dict[Verdict, int]:
    """How many rules came to each verdict; every verdict is named, zeros too."""
    totals = dict.fromkeys(Verdict, 0)
    for finding in findings:
        totals[finding.verdict] += 1
    return totals


def in_total(findings: Sequence[Finding]) -> str:
    """How many rules there are, and how many came to each verdict that any of them came to."""
    said = [
        f"{number} {_IN_TOTALS.get(verdict, verdict)}"
        for verdict, number in counts(findings).items()
        if number
    ]
    return f"{number_of(len(findings), 'rule')}: {', '.join(said)}"


def near_words(check: Check, near: float) -> str | None:
    """The rules met by no more than a share of their limit, by id; None where there are none."""
    close = [finding.rule.id for finding in check.findings if is_near(finding, near)]
    if not close:
        return None
    return f"Met, but by no more than {near:.0%}: {', '.join(close)}".replace("%", " %")


_IN_TOTALS = {Verdict.DOES_NOT_APPLY: "of no concern to this load"}


def of_verdict(check: Check, verdict: Verdict, level: str) -> list[Finding]:
    """The findings of one verdict and level, in rule order."""
    return [f for f in check.findings if f.verdict is verdict and f.rule.level == level]


def enough_words(fix: Fix, check: Check, system: System) -> str:
    """The smallest change of one thing that would meet a rule, and what it would break."""
    words = fix_words(fix, system, name_it=len(check.load.articles) > 1)
    broken = ", ".join(rule.id for rule in fix.breaks)
    hooks = ", with the tiedowns hooked as they are" if fix.kind == "move" else ""
    after = f"; then not met{hooks}: {broken}" if broken else ""
    return f"Enough: {words}{after}"


def fix_words(fix: Fix, system: System, *, name_it: bool) -> str:
    """A smallest change as an instruction, rounded to what a tape or a scale reads.

    Rounding goes the way that keeps the rule met.
    """
    what = fix.article if name_it else "it"
    match fix.kind:
        case "move":
            way = "rearward" if fix.value > 0 else "forward"
            step = _TAPE_STEPS[system]
            steps = max(math.ceil(abs(fix.value) / step - _ROUNDING), 1)
            distance = show(steps * step, "length", system)
            return f"move {what} {distance} {way}"
        case "lighten":
            step = _SCALE_STEPS[system]
            most = math.floor(fix.value / step + _ROUNDING) * step
            return f"keep {what} at {show(most, 'load', system)} or less"
    step = _SCALE_STEPS[system]
    least = show(math.ceil(fix.value / step - _ROUNDING) * step, "load", system)
    whose = f" on {fix.article}" if name_it else ""
    return f"tiedowns{whose} rated at least {least} each, hooks and tensioners included"


def g_words(acceleration: float) -> str:
    """An acceleration in g; ten is the most that is looked for."""
    return "10 g or more" if acceleration >= MOST_G else f"{acceleration:.2f} g"


def gives_words(held: Held) -> str:
    """What gives first when an article starts to move."""
    governs = held.governs
    if governs is None:
        return "nothing gives up to that"
    moves = _MOVES.get(governs.motion or "", "moves")
    full = governs.tiedowns or governs.blocks
    match governs.kind:
        case "not held at rest":
            return "it does not even stay where it stands"
        case "tiedown full" | "block full":
            return f"then {listed(full)} can take no more, and it {moves}"
        case "tipping" if len(governs.carrying) == _EDGE:
            return f"then it tips over its {' and '.join(governs.carrying)}"
    return f"then it {moves}"


_MOVES = {"sliding": "slides", "lifting": "lifts", "turning": "turns", "tipping": "tips"}


def listed(names: Sequence[str], joint: str = "and") -> str:
    """Names as a sentence lists them, at least one."""
    *most, last = names
    return f"{', '.join(most)} {joint} {last}" if most else last
