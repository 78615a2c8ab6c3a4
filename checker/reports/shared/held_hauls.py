"""Every haul on hold with its evidence, as the page and the workbook of an audit list it."""

from collections.abc import Iterator, Sequence
from datetime import date
from functools import cached_property
from typing import NamedTuple

from msgspec import Struct

from checker.evaluation.compared import kind_of_leaf
from checker.facts.catalogue import ANSWER, catalogue
from checker.reports.shared.audit_results import RuleCount, rule_counts
from checker.reports.shared.comparison_words import FormulaWords, answer, operator_words
from checker.reports.shared.season_names import SeasonNames
from checker.rulebooks.formula_arithmetic import wanted_operator
from checker.rulebooks.model import Rule
from checker.rulebooks.rule_text import BROKEN_ON, Side
from checker.season.audit import Audit
from checker.season.evidence import HeldHauls
from checker.units.formatting import SI, SYSTEMS, US, System, Units, show_apart, usual_unit
from checker.units.table import FACTORS


class Reason(NamedTuple):
    """A comparison by which a rule holds hauls: what it compares, how, and where they are."""

    rule: Rule
    title: str
    """What is wrong, by the side of the limit."""
    compares: str
    """What is found, in words."""
    operator: str
    """How that must compare with what is wanted, in words; empty for yes and no."""
    side: Side | None
    """The side of the limit on which the hauls are; None where it has to be equal."""
    kind: str


class HeldLine(Struct, frozen=True):
    """A haul on hold. `reason` is an index into `HeldList.reasons`."""

    row: int
    name: str
    """Empty where the log states none."""
    day: date
    load: str
    trailer: str
    machines: Sequence[str]
    tow_vehicle: str
    crew: str
    reason: int
    found: float
    wanted: float
    """Both sides of the comparison, in N, m, s and rad."""
    system: System
    margin: float | None
    """Share of the limit by which it is missed; None where a share means nothing."""
    others: int
    """How many more must-rules are not met."""


class HeldList:
    """All hauls on hold, those that break most must-rules first, then the farthest from a limit."""

    def __init__(self, audit: Audit, held: HeldHauls, units: Units) -> None:
        """The hauls of an audit, printed in these units."""
        self._held, self._units = held.worst_first(), units
        self._names = SeasonNames(audit.totals.titles)
        counts = {each.rule.id: each for each in rule_counts(audit)}
        self._counts = [counts[rule] for rule in held.rule]
        pairs = zip(held.records["rule"].tolist(), held.records["leaf"].tolist(), strict=True)
        self._reason_of = {pair: index for index, pair in enumerate(sorted(set(pairs)))}

    def __len__(self) -> int:
        return len(self._held)

    @cached_property
    def reasons(self) -> Sequence[Reason]:
        """Every comparison that decides some haul."""
        return [_reason(self._counts[rule], leaf) for rule, leaf in self._reason_of]

    def lines(self) -> Iterator[HeldLine]:
        """The hauls, the worst first."""
        held = self._held
        systems = {metric: SYSTEMS.get(self._units) or (SI if metric else US) for metric in (0, 1)}
        for each in held.records:
            rig, margin = held.load[each["load"]], float(each["margin"])
            yield HeldLine(
                row=int(each["row"]),
                name=held.name[each["name"]],
                day=date.fromordinal(int(each["day"])),
                load=rig.load,
                trailer=self._names.printed("trailer", rig.trailer),
                machines=tuple(self._names.printed("machine", key) for key in rig.machines),
                tow_vehicle=self._names.printed("tow vehicle", rig.tow_vehicle),
                crew=self._names.printed("crew", held.crew[each["crew"]]),
                reason=self._reason_of[int(each["rule"]), int(each["leaf"])],
                found=float(each["found"]),
                wanted=float(each["wanted"]),
                system=systems[int(each["metric"])],
                margin=None if margin != margin else margin,
                others=int(each["broken"]) - 1,
            )

    def texts(self, line: HeldLine) -> tuple[str, str]:
        """What was found and what was wanted, in words, in one unit."""
        reason = self.reasons[line.reason]
        if reason.kind == ANSWER:
            return answer(line.found), answer(line.wanted)
        found, wanted = show_apart(line.found, line.wanted, reason.kind, line.system, digits=3)
        return found, f"{reason.operator} {wanted}"

    def figures(self, line: HeldLine) -> tuple[float | str, float | str, str]:
        """What was found and wanted as figures, with their unit; answers and days as words."""
        kind = self.reasons[line.reason].kind
        if kind in (ANSWER, "day"):
            return (*self.texts(line), "")
        unit = usual_unit(kind, line.system)
        top, bottom = FACTORS[unit] if unit else (1, 1)
        found, wanted = (float(f"{each * bottom / top:.9g}") for each in (line.found, line.wanted))
        return found, wanted, unit


def _reason(count: RuleCount, leaf: int) -> Reason:
    rule = count.rule
    comparison = rule.requires.leaves[leaf]
    thresholds = {name: each.values[-1] for name, each in rule.thresholds.items()}
    kind = kind_of_leaf(rule, comparison, thresholds)
    operator = wanted_operator(comparison)
    side = BROKEN_ON.get(operator or "")
    known = catalogue()
    facts = {name: known[name] for name in rule.facts}
    words = FormulaWords(facts, thresholds, {}, US, metric=False)
    left, _ = rule.requires.text_of(comparison)
    return Reason(
        rule=rule,
        title=count.broken_on(side),
        compares=words.alone(left) or words.formula(left),
        operator=operator_words(operator, kind) if operator else "",
        side=side,
        kind=kind,
    )
