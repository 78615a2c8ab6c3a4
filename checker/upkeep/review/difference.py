"""One difference between two sets of rules: what it is about, and whether it loosens a rule."""

from collections.abc import Collection
from datetime import date
from enum import StrEnum

from msgspec import Struct

from checker.rulebooks.days import Stretch


class Effect(StrEnum):
    """What a difference does to the rules; the one that matters most comes first."""

    LOOSENED = "loosened"
    UNCERTAIN = "may be loosened"
    TIGHTENED = "tightened"
    TEXTS = "texts only"


class Kind(StrEnum):
    """What differs."""

    RULEBOOK = "rulebook"
    RULE = "rule"
    REPEAL = "repeal"
    LEVEL = "level"
    BASIS = "basis"
    PLACE = "jurisdiction"
    SUBJECTS = "subjects held"
    WHEN = "when"
    REQUIRES = "requires"
    FOR_EACH = "for_each"
    DAYS = "days in force"
    FIGURE = "figure"
    STRICTER = "stricter"
    NEAR = "near miss"
    TABLE = "table"
    VARIANCE = "variance"
    SETTING = "setting"
    TEXTS = "texts"


class Difference(Struct, frozen=True):
    """One difference; `before` and `after` say what holds in each set of rules."""

    effect: Effect
    kind: Kind
    name: str
    """Id of the rule, rulebook or table, or name of the setting."""
    title: str
    before: str
    after: str
    location: str
    threshold: str = ""
    place: str = ""
    """The place whose trips it is about; empty for all."""
    days: tuple[Stretch, ...] = ()
    """The days on which it differs; none for all days."""
    each_year: bool = False
    """True if the same days of later years follow."""
    rules: frozenset[str] = frozenset()
    """Ids of the rules whose verdict may differ by it."""

    figures_change: frozenset[date] = frozenset()
    """Of a whole rule: the days on which its figures change."""

    def differs_on(self, day: date) -> bool:
        """True if it may change a verdict on a day."""
        if self.effect is Effect.TEXTS:
            return False
        if not self.days or any(each.holds_on(day) for each in self.days):
            return True
        last = self.days[-1].ends
        return self.each_year and last is not None and day >= last

    def turns(self, own: date) -> set[date]:
        """The first day and the end of its days; of a season those around or after the own day."""
        shown = self.days
        if self.each_year:
            ahead = (each for each in self.days if each.ends is None or own < each.ends)
            shown = (next(ahead, self.days[0]),)
        ends = {day for each in shown for day in (each.starts, each.ends)}
        return {day for day in ends if day is not None and day != date.min}


def days_to_try(own: date, differences: Collection[Difference]) -> list[date]:
    """The days to try a load on, among its own and every start and end of what differs, in order.

    Of a whole rule that is new or gone, later changes of its figures count too. Days on which
    nothing differs are left out, as no verdict can change on them; the own day stands alone where
    there is no other.
    """
    days = {own}
    for each in differences:
        days |= each.turns(own) | {day for day in each.figures_change if day > own}
    found = [day for day in sorted(days) if any(each.differs_on(day) for each in differences)]
    return found or [own]


def rules_to_try(differences: Collection[Difference]) -> frozenset[str] | None:
    """The ids of the rules whose verdicts may change; None for all rules."""
    changing = [each for each in differences if each.effect is not Effect.TEXTS]
    if any(each.kind is Kind.TABLE for each in changing):
        return None
    return frozenset().union(*(each.rules for each in changing))


def loosens(difference: Difference) -> bool:
    """True if it loosens a rule, or if nobody can tell that it does not."""
    return difference.effect in (Effect.LOOSENED, Effect.UNCERTAIN)
