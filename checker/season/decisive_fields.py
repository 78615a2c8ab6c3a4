"""What stating a field would decide in a season: tried on one haul for each gap, when asked for."""

from collections.abc import Iterator, Mapping, Sequence, Set
from typing import Final, NamedTuple

from checker.documents.problems import ProblemsFoundError
from checker.logs.model import Refused
from checker.rulebooks.model import Rulebooks
from checker.season.causes.decisive import Decisive, FilledHaul
from checker.season.causes.gaps import Gap
from checker.season.hauls.loads import HaulsOfLoad, Loads
from checker.season.running.part_store import PartStore

_MOST_HAULS: Final = 40
"""Most hauls tried: those that stand for most undecided rules. The others decide nothing."""


class WouldDecide(NamedTuple):
    """Fields that together would decide a rule, and in how many hauls.

    `answer` is the only word that does so, for a single field; empty where figures or others do.
    """

    fields: tuple[str, ...]
    hauls: int
    answer: str

    def joined(self, other: "WouldDecide") -> "WouldDecide":
        """The same fields in more hauls."""
        answer = self.answer if self.answer == other.answer else ""
        return WouldDecide(self.fields, self.hauls + other.hauls, answer)


class DecisiveFields:
    """The fields that would decide the undecided rules of a season; tried on first use.

    A rule is tried on the first haul with its gap in the log, so the result is the same however the
    hauls were divided.
    """

    def __init__(
        self, gaps: Mapping[str, Gap], store: PartStore, loads: Loads, rulebooks: Rulebooks
    ) -> None:
        """Take the hauls that stand for the gaps from the store, which need not stay open."""
        self._gaps, self._loads, self._rulebooks = gaps, loads, rulebooks
        asked: dict[int, int] = {}
        for gap in gaps.values():
            for each in gap.rules.values():
                asked[each.row] = asked.get(each.row, 0) + each.hauls
        most = sorted(asked, key=lambda row: (-asked[row], row))[:_MOST_HAULS]
        self._hauls = store.hauls(most)

    def would_decide(self, several: Set[str]) -> dict[str, list["WouldDecide"]]:
        """By rule what would decide it, that of most hauls first; rules without any are left out.

        Sets of several fields are looked for only for the rules in `several`.
        """
        found: dict[str, dict[tuple[str, ...], WouldDecide]] = {}
        for gap, decisive in self._tried(frozenset(several)):
            for rule, each in decisive.items():
                for fields in each.sets:
                    own = WouldDecide(
                        fields, gap.rules[rule].hauls, each.answers.get(fields[0], "")
                    )
                    sets = found.setdefault(rule, {})
                    sets[fields] = sets[fields].joined(own) if fields in sets else own
        return {
            rule: sorted(sets.values(), key=lambda each: (-each.hauls, each.fields))
            for rule, sets in found.items()
        }

    def _tried(self, several: Set[str]) -> Iterator[tuple[Gap, Mapping[str, Decisive]]]:
        # A rule is asked of a haul for one gap alone: the fields that are missing there.
        by_haul: dict[int, dict[str, Sequence[str]]] = {}
        for key, gap in sorted(self._gaps.items()):
            for rule, each in gap.rules.items():
                by_haul.setdefault(each.row, {})[rule] = key.split()
        found = {row: self._decisive(row, by_haul[row], several) for row in sorted(self._hauls)}
        for gap in self._gaps.values():
            tried = {rule: found.get(each.row, {}) for rule, each in gap.rules.items()}
            yield gap, {rule: here[rule] for rule, here in tried.items() if rule in here}

    def _decisive(
        self, row: int, missing: Mapping[str, Sequence[str]], several: Set[str]
    ) -> dict[str, Decisive]:
        """What decides the rules in one haul; nothing where its profile was changed meanwhile."""
        load, table = self._hauls[row]
        try:
            (chunk,) = self._loads.chunks([HaulsOfLoad(load, [table])])
        except ProblemsFoundError:
            return {}
        assert not isinstance(chunk, Refused)
        return FilledHaul(chunk, self._rulebooks).decisive(missing, several)
