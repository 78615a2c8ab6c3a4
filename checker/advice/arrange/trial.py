"""A search that ends by a time, and notes what stops the plans it looks at."""

from collections import Counter
from collections.abc import Iterable, Sequence
from datetime import date
from time import process_time

import numpy as np
from msgspec import Struct

from checker.advice.arrange.choices import Choices
from checker.advice.arrange.influence import Influence, Key, Reads
from checker.advice.arrange.one_article import Found
from checker.advice.arrange.plan_rows import PlanRows, Plans
from checker.advice.arrange.scores import OBJECTIVES, Judge, PlanFacts, RuleTable
from checker.advice.arrange.search import EFFORT, Arranger
from checker.evaluation.evaluator import evaluators
from checker.rulebooks.model import Rule, Rulebooks

_FEW = 4


class OutOfTimeError(Exception):
    """The time for a search is over."""


class Stage(Struct):
    """What the rules of one stage say of all that the search asked them about.

    `broken` are the sets of must-rules that were broken together.
    """

    tried: int = 0
    passed: int = 0
    broken: Counter[frozenset[Key]] = Counter()

    def note(self, table: RuleTable) -> None:
        """Add the plans of a table."""
        if not table.rules:
            self.tried += table.margin.size
            self.passed += table.margin.size
            return
        columns, counts = np.unique(table.broken, axis=1, return_counts=True)
        for column, count in zip(columns.T, counts.tolist(), strict=True):
            rules = frozenset(table.rules[number] for number in np.flatnonzero(column).tolist())
            self.tried += count
            self.passed += 0 if rules else count
            if rules:
                self.broken[rules] += count

    def stopping(self) -> tuple[Key, ...]:
        """The rules that all break; where there are none, few rules of which all break some.

        Of those few none can be left out.
        """
        found: Counter[Key] = Counter()
        for rules, count in sorted(self.broken.items(), key=lambda each: sorted(each[0])):
            found.update(dict.fromkeys(sorted(rules), count))
        everywhere = frozenset.intersection(*self.broken) if self.broken else frozenset()
        kept = set(everywhere or found)
        for key, _ in reversed(found.most_common() if not everywhere else []):
            if all(rules & (kept - {key}) for rules in self.broken):
                kept.remove(key)
        return tuple(key for key, _ in found.most_common() if key in kept)


class _NotingJudge(Judge):
    """Notes what each stage breaks, and ends the search by a time."""

    def __init__(
        self,
        rows: PlanRows,
        rulebooks: Rulebooks,
        on: date,
        influence: Influence,
        until: float,
        stages: dict[Reads, Stage] | None,
    ) -> None:
        super().__init__(rows, rulebooks, on, influence)
        self._until = until
        self.stages = stages or {reads: Stage(broken=Counter()) for reads in Reads}

    def table(
        self,
        plans: Plans,
        reads: Reads,
        article: int | None = None,
        known: Iterable[PlanFacts] | None = None,
    ) -> RuleTable:
        if process_time() > self._until:
            raise OutOfTimeError
        found = super().table(plans, reads, article, known)
        self.stages[reads].note(found)
        return found


class Trial(Arranger):
    """The search for one load until a time of `time.process_time`, which no other program uses up.

    With no order of objectives it ends with the first plan that breaks no must-rule.
    """

    judge: _NotingJudge

    def __init__(
        self,
        choices: Choices,
        rulebooks: Rulebooks,
        on: date,
        until: float,
        order: Sequence[str] = (),
        stages: dict[Reads, Stage] | None = None,
        effort: int = EFFORT,
    ) -> None:
        """Raises OutOfTimeError, as does the search, once the time is over.

        `stages` are those of another search, to go on noting in them.
        """
        super().__init__(choices, rulebooks, on, order, effort)
        self.judge = _NotingJudge(self._rows, rulebooks, on, self.influence, until, stages)
        self._rulebooks, self._on = rulebooks, on

    def at_the_best_places(self) -> Found | None:
        """A plan at one of the few places that are best before anything is tied down.

        Of several articles it is the search as usual, which is at few places anyway.
        """
        if len(self.choices.load.articles) > 1:
            return self.best()
        places = self.places()
        figures = self.figures_of_places(places)
        rows = sorted(range(places.size), key=lambda row: figures[row].key(OBJECTIVES))[:_FEW]
        search = self.search_of(0)
        search.go_on(places.take(rows), [figures[row] for row in rows])
        self.exhausted = bool(figures[rows[0]].broken)
        return search.found()

    @property
    def stages(self) -> dict[Reads, Stage]:
        """What stopped the plans of the search, by stage."""
        return self.judge.stages

    def stopping(self) -> tuple[Key, ...]:
        """The rules at the first stage that nothing passed, of which all there break some."""
        for stage in self.stages.values():
            if stage.tried and not stage.passed:
                return stage.stopping()
        return ()

    def rules(self) -> dict[Key, Rule]:
        """The rules in force, by their key."""
        found = evaluators(self.choices.load, self._rulebooks, self._on)
        return {
            Key(each.book.id, rule.id): rule
            for each in found.in_reach()
            for rule in each.book.rules
        }

    def broken_whatever_is_arranged(self) -> tuple[Key, ...]:
        """The must-rules that are broken and read nothing that an arrangement changes."""
        table = Judge.table(self.judge, self._sample(), Reads.NOTHING)
        return tuple(
            key for key, broken in zip(table.rules, table.broken, strict=True) if broken.any()
        )
