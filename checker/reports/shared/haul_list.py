"""Every haul on hold or open with its evidence, for the page and the workbook of an audit."""

from collections.abc import Iterator, Sequence
from datetime import date
from functools import cached_property
from typing import NamedTuple

from msgspec import Struct

from checker.evaluation.compared import kind_of_leaf
from checker.facts.catalogue import ANSWER, catalogue
from checker.reports.shared.audit_results import NO_RULE_MET, RuleCount, rule_counts
from checker.reports.shared.comparison_words import FormulaWords, answer, operator_words
from checker.reports.shared.season_names import SeasonNames
from checker.reports.shared.words import number_of
from checker.rulebooks.formula_arithmetic import wanted_operator
from checker.rulebooks.rule_text import BROKEN_ON, Side
from checker.season.audit import Audit
from checker.season.records.evidence import ListedHauls
from checker.units.formatting import SI, SYSTEMS, US, System, Units, show_apart, usual_unit
from checker.units.table import FACTORS


class Reason(NamedTuple):
    """Why hauls are on hold or open: mostly a comparison, what it compares, and where they are."""

    rule: str
    """Its id; empty where an open haul has no undecided must-rule."""
    title: str
    """What is wrong, by the side of the limit; or what leaves hauls open."""
    compares: str
    """What is found, in words."""
    operator: str
    """How that must compare with what is wanted, in words; empty for yes and no, and where nothing
    is compared."""
    side: Side | None
    """The side of the limit on which the hauls are; None where it has to be equal, or open."""
    kind: str
    """Empty where nothing is compared."""


class ListedHaul(Struct, frozen=True):
    """A haul on hold or open. `reason` is an index into `HaulList.reasons`."""

    row: int
    is_open: bool
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
    """How many more must-rules are not met, or of an open haul not decided."""
    lacking: int
    """How many fields the undecided must-rules of an open haul lack."""

    @property
    def outcome(self) -> str:
        """The outcome in words."""
        return "open" if self.is_open else "on hold"


class HaulList:
    """All hauls on hold, then the open ones.

    On hold: those that break most must-rules first, then the farthest from a limit.
    """

    def __init__(self, audit: Audit, held: ListedHauls, units: Units) -> None:
        """The hauls of an audit, printed in these units."""
        self._held, self._units = held.worst_first(), units
        self._names = SeasonNames(audit.totals.titles)
        counts = {each.rule.id: each for each in rule_counts(audit)}
        self._counts = [counts.get(rule) for rule in held.rule]
        columns = (held.records[name].tolist() for name in ("rule", "leaf", "fields", "open"))
        self._reason_of = {
            key: index for index, key in enumerate(sorted(set(zip(*columns, strict=True))))
        }

    def __len__(self) -> int:
        return len(self._held)

    @cached_property
    def reasons(self) -> Sequence[Reason]:
        """Everything that decides some haul."""
        return [
            _open_reason(self._counts[rule], leaf, self._held.fields[fields])
            if is_open
            else _reason(self._count(rule), leaf)
            for rule, leaf, fields, is_open in self._reason_of
        ]

    def _count(self, rule: int) -> RuleCount:
        count = self._counts[rule]
        assert count is not None, "a haul on hold has a rule"
        return count

    def lines(self) -> Iterator[ListedHaul]:
        """The hauls, the worst first."""
        held = self._held
        systems = {metric: SYSTEMS.get(self._units) or (SI if metric else US) for metric in (0, 1)}
        for each in held.records:
            rig, margin = held.load[each["load"]], float(each["margin"])
            yield ListedHaul(
                row=int(each["row"]),
                is_open=bool(each["open"]),
                name=held.name[each["name"]],
                day=date.fromordinal(int(each["day"])),
                load=rig.load,
                trailer=self._names.printed("trailer", rig.trailer),
                machines=tuple(self._names.printed("machine", key) for key in rig.machines),
                tow_vehicle=self._names.printed("tow vehicle", rig.tow_vehicle),
                crew=self._names.printed("crew", held.crew[each["crew"]]),
                reason=self._reason_of[
                    int(each["rule"]), int(each["leaf"]), int(each["fields"]), bool(each["open"])
                ],
                found=float(each["found"]),
                wanted=float(each["wanted"]),
                system=systems[int(each["metric"])],
                margin=None if each["open"] or margin != margin else margin,
                others=max(int(each["undecided" if each["open"] else "broken"]) - 1, 0),
                lacking=int(each["lacking"]),
            )

    def texts(self, line: ListedHaul) -> tuple[str, str]:
        """What was found and what was wanted, in words, in one unit."""
        reason = self.reasons[line.reason]
        if not reason.kind:
            return (f"{number_of(line.lacking, 'field')} not stated" if line.lacking else "", "")
        if reason.kind == ANSWER:
            return answer(line.found), answer(line.wanted)
        found, wanted = show_apart(line.found, line.wanted, reason.kind, line.system, digits=3)
        return found, f"{reason.operator} {wanted}"

    def figures(self, line: ListedHaul) -> tuple[float | str, float | str, str]:
        """What was found and wanted as figures, with their unit; answers and days as words."""
        kind = self.reasons[line.reason].kind
        if kind in (ANSWER, "day", ""):
            return (*self.texts(line), "")
        unit = usual_unit(kind, line.system)
        top, bottom = FACTORS[unit] if unit else (1, 1)
        found, wanted = (float(f"{each * bottom / top:.9g}") for each in (line.found, line.wanted))
        return found, wanted, unit


def _open_reason(count: RuleCount | None, leaf: int, fields: str) -> Reason:
    """Why a haul is open: the fields that most rules lack, else an undecided rule."""
    if count is None:
        return Reason("", NO_RULE_MET, "", "", None, "")
    if fields:
        return Reason(count.rule.id, f"not stated: {fields}", "", "", None, "")
    if leaf < 0:
        return Reason(count.rule.id, f"undecided: {count.title}", "", "", None, "")
    title = f"too close to call: {count.title}"
    return _reason(count, leaf)._replace(title=title, side=None)


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
        rule=rule.id,
        title=count.broken_on(side),
        compares=words.alone(left) or words.formula(left),
        operator=operator_words(operator, kind) if operator else "",
        side=side,
        kind=kind,
    )
