"""The rules that hauls left undecided, and the fields that would have decided them."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache

from checker.documents.schemas import field_description
from checker.reports.shared.audit_results import RuleCount, most_first, never_decided
from checker.reports.shared.words import number_of
from checker.rulebooks.verdicts import Verdict
from checker.season.audit import Audit
from checker.season.decisive_fields import DecisiveFields, WouldDecide

_MOST_SETS = 3
_MOST_NAMED = 4


@dataclass(frozen=True, slots=True)
class NeverDecided:
    """A rule that no haul decided, its hauls, and the sets of fields each of which would do so.

    `missing` are fields that it asks for, where no values tried for them decided it.
    """

    rule: RuleCount
    hauls: int
    sets: Sequence[WouldDecide]
    missing: Sequence[str]

    @property
    def fields(self) -> Sequence[str]:
        """Every field of the sets, each once, in order."""
        return sorted({field for each in self.sets for field in each.fields})

    @property
    def words(self) -> str:
        """What would decide it, that of most hauls first."""
        if not self.sets:
            more = f" and {len(self.missing) - _MOST_NAMED} more" * (
                len(self.missing) > _MOST_NAMED
            )
            return f"no column found; it asks for {', '.join(self.missing[:_MOST_NAMED])}{more}"
        return "; or ".join(map(self._set_words, self.sets[:_MOST_SETS]))

    def _set_words(self, each: WouldDecide) -> str:
        some = "" if each.hauls == self.hauls else f" in {each.hauls}"
        answer = f" (if {each.answer})" if each.answer else ""
        return f"{' with '.join(each.fields)}{answer}{some}"


@dataclass(frozen=True, slots=True)
class NotStated:
    """A field that hauls leave out.

    `rules` has by rule the hauls in which the field alone would decide it, `asked` counts the hauls
    in which some rule asks for it.
    """

    field: str
    rules: Mapping[str, int]
    asked: int

    @property
    def hauls(self) -> int:
        """The hauls of the rule that it would decide most often."""
        return max(self.rules.values(), default=0)

    @property
    def words(self) -> str:
        """How many rules it would decide by itself, and in how many hauls."""
        if not self.rules:
            return f"no rule alone; {number_of(self.asked, 'haul')} lack it"
        return f"{number_of(len(self.rules), 'rule')} in up to {number_of(self.hauls, 'haul')}"

    @property
    def description(self) -> str:
        """The meaning of the field."""
        return field_description(self.field)


@dataclass(frozen=True, slots=True)
class NotDecided:
    """Rules never decided, the most often first, and fields, those that decide most rules first."""

    never: Sequence[NeverDecided]
    fields: Sequence[NotStated]


def not_decided(audit: Audit) -> NotDecided:
    """What was not decided, and what would decide it."""
    never = never_decided(audit)
    found = _would_decide(audit.decisive, frozenset(each.rule.id for each in never))
    by_field: dict[str, dict[str, int]] = {}
    for rule, sets in found.items():
        for each in sets:
            if len(each.fields) == 1:
                by_field.setdefault(each.fields[0], {})[rule] = each.hauls
    fields = [
        NotStated(field, by_field.get(field, {}), asked)
        for field, asked in most_first(audit.totals.missing_fields)
    ]
    return NotDecided(
        [
            NeverDecided(
                each,
                each.tally.of(Verdict.NOT_STATED),
                found.get(each.rule.id, ()),
                [field for field, _ in most_first(each.tally.gap)],
            )
            for each in never
        ],
        sorted(fields, key=lambda each: (-len(each.rules), -each.hauls, -each.asked, each.field)),
    )


@lru_cache(maxsize=1)
def _would_decide(
    decisive: DecisiveFields, several: frozenset[str]
) -> Mapping[str, Sequence[WouldDecide]]:
    """Tried once for all forms of one audit."""
    return decisive.would_decide(several)
