"""The causes of a season in words: what is wrong, in how many hauls, who, and what to change."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from checker.reports.shared.audit_results import RuleCount, most_first, rule_counts
from checker.reports.shared.season_names import SeasonNames
from checker.reports.shared.words import number_of
from checker.season.audit import Audit
from checker.season.causes.causes import Cause, Causes
from checker.season.hauls.faults import Fault
from checker.season.totals import Tally, Totals, WorstHaul

WORST_ORDER = "most causes, then most rules, then the farthest from a limit"
"""The order of `SeasonCauses.worst_first` in words."""
MOST_FIRST = 5
"""The greatest number of causes that are put in the order to work on."""
_MOST_NAMED = 2


@dataclass(frozen=True, slots=True)
class CauseWords:
    """A cause as every form prints it."""

    cause: Cause
    number: int
    """Its place among all causes, from 1."""
    statement: str
    """What is wrong, with its direction."""
    also: Sequence[tuple[str, str, int]]
    """The other rules broken in its hauls: id, statement, number of these hauls."""
    who: str
    """The crews, against all hauls of the one with most."""
    where: str
    """The loads and the trailer with most."""
    change: Sequence[str]
    """The profiles to change, or the fields that the rows state."""
    action: str

    @property
    def rule(self) -> str:
        """Id of the rule that names the cause."""
        return self.cause.head.rule

    @property
    def to_do(self) -> str:
        """What to do, and where to change it if that is known."""
        return f"{self.action} Change: {'; '.join(self.change)}" if self.change else self.action


@dataclass(frozen=True, slots=True)
class SeasonCauses:
    """All causes, those that hold hauls first, and the order in which to put them right.

    `first` holds each cause with the number of hauls that are off hold by then.
    """

    all: Sequence[CauseWords]
    first: Sequence[tuple[CauseWords, int]]

    @property
    def holding(self) -> int:
        """The number of causes that put hauls on hold."""
        return sum(each.cause.level == "must" for each in self.all)

    def heads(self, rules: Sequence[str]) -> dict[str, int]:
        """The rules that name the causes of some broken rules, with the other rules of each."""
        found: dict[str, int] = {}
        left = set(rules)
        for each in self.all:
            if each.rule in left:
                here = left.intersection((each.rule, *(rule for rule, *_ in each.also)))
                found[each.rule] = len(here) - 1
                left -= here
        return found

    def worst_first(self, hauls: Sequence[WorstHaul]) -> list[WorstHaul]:
        """Hauls on hold, in the order of WORST_ORDER, then others in the order of their own."""

        def order(haul: WorstHaul) -> tuple[int, tuple[int, int, float, int, int]]:
            return -len(self.heads(haul.broken)), haul.order

        return sorted(hauls, key=order)


def season_causes(audit: Audit) -> SeasonCauses:
    """The causes of everything that the hauls of a season broke."""
    totals = audit.totals
    found = Causes(totals.faults, audit.rulebooks, totals.departs)
    rules = {each.rule.id: each for each in rule_counts(audit)}
    words = [_words(each, number, totals, rules) for number, each in enumerate(found.all, 1)]
    by_head = {each.cause.head: each for each in words}
    first = [(by_head[each.cause.head], each.off_hold) for each in found.first(MOST_FIRST)]
    return SeasonCauses(words, first)


def _words(cause: Cause, number: int, totals: Totals, rules: Mapping[str, RuleCount]) -> CauseWords:
    def statement(fault: Fault) -> str:
        return rules[fault.rule].broken_on(fault.side)

    return CauseWords(
        cause=cause,
        number=number,
        statement=statement(cause.head),
        also=[(fault.rule, statement(fault), hauls) for fault, hauls in cause.faults[1:]],
        who=_who(cause, totals),
        where="; ".join(_where(cause, totals)),
        change=list(_change(cause, totals)),
        action=rules[cause.head.rule].action_on(cause.head.side),
    )


def _who(cause: Cause, totals: Totals) -> str:
    """The crew with more than half of the hauls, beside all that it hauled; else how many crews."""
    ((key, number), *others) = most_first(cause.by.get("crew", {})) or [("", 0)]
    tally = totals.by["crew"].get(key, Tally())
    name = SeasonNames(totals.titles).printed("crew", key)
    crew = f"crew {name}, which had {number_of(tally.hauls, 'haul')}"
    if not others:
        return f"{'all ' if number > 1 else ''}by {crew}"
    if 2 * number > cause.hauls:
        return f"{number} of {cause.hauls} by {crew}"
    return f"by {len(others) + 1} crews"


def _where(cause: Cause, totals: Totals) -> Iterator[str]:
    names = SeasonNames(totals.titles)
    for kind in ("load", "trailer"):
        ((key, number), *others) = most_first(cause.by.get(kind, {})) or [("", 0)]
        name = names.printed(kind, key)
        if others:
            yield f"{len(others) + 1} {kind}s{f', {number} with {name}' if number > 1 else ''}"
        elif number:
            yield name


def _change(cause: Cause, totals: Totals) -> Iterator[str]:
    """Where to change it: in profiles that break the rule by themselves, or in what rows state."""
    saved = [f"{load} ({hauls})" for load, hauls in most_first(cause.as_saved)]
    if saved:
        more = f" and {len(saved) - _MOST_NAMED} more" if len(saved) > _MOST_NAMED else ""
        profiles = "profiles" if len(saved) > 1 else "profile"
        yield f"the load {profiles} {', '.join(saved[:_MOST_NAMED])}{more}"
        if trailer := _trailer_at_fault(cause, totals):
            yield f"of the trailer {trailer} all hauls: its file first"
    if cause.in_rows:
        fields = [f"{field} ({hauls})" for field, hauls in cause.stated.items()][:_MOST_NAMED]
        what = ", ".join(fields) or "several figures together"
        yield f"in {number_of(cause.in_rows, 'row')} {what}"


def _trailer_at_fault(cause: Cause, totals: Totals) -> str:
    """A trailer of which every haul, with several loads, has the cause by its profile."""
    of_trailer = cause.by.get("trailer", {})
    if len(of_trailer) != 1 or len(cause.as_saved) == 1 or cause.in_rows:
        return ""
    (trailer,) = of_trailer
    if totals.by["trailer"][trailer].hauls != cause.hauls:
        return ""
    return SeasonNames(totals.titles).printed("trailer", trailer)


def causes_json(found: SeasonCauses) -> list[dict[str, Any]]:
    """The causes as plain data, for the member `causes` of an audit document."""
    order = {each.number: place for place, (each, _) in enumerate(found.first, 1)}
    off_hold = {each.number: hauls for each, hauls in found.first}
    return [
        {
            "rule": each.rule,
            "side": each.cause.head.side,
            "statement": each.statement,
            "level": each.cause.level,
            "hauls": each.cause.hauls,
            "alone": each.cause.alone,
            "first": order.get(each.number),
            "off_hold": off_hold.get(each.number),
            "with": [
                {"rule": fault.rule, "side": fault.side, "hauls": hauls}
                for fault, hauls in each.cause.faults[1:]
            ],
            "by": {
                kind: dict(sorted(counts.items())) for kind, counts in sorted(each.cause.by.items())
            },
            "as_saved": dict(sorted(each.cause.as_saved.items())),
            "stated": dict(sorted(each.cause.stated.items())),
            "change": list(each.change),
            "fix": each.action,
        }
        for each in found.all
    ]
