"""One difference between two sets of rules: what it is about, and whether it loosens a rule."""

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

    @property
    def turns(self) -> set[date]:
        """The first day and the end of every stretch of its days."""
        ends = {day for each in self.days for day in (each.starts, each.ends)}
        return {day for day in ends if day is not None and day != date.min}


def loosens(difference: Difference) -> bool:
    """True if it loosens a rule, or if nobody can tell that it does not."""
    return difference.effect in (Effect.LOOSENED, Effect.UNCERTAIN)
