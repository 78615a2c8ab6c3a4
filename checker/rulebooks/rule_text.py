"""What a rule says to people: title, reason and what to do, with the figures in force put in.

A text names a threshold in braces, such as `within {distance}`, and prints the value that counts:
an amended figure appears in the advice by itself.
"""

import re
from collections.abc import Iterable, Mapping
from enum import StrEnum
from typing import Final

from msgspec import Struct

from checker.documents.problems import listed, nearest, quoted

_NAME = re.compile(r"\{([^{}]*)\}")
_LONG_NUMBER = re.compile(r"(?<![\d.,])\d{4,}(?![\d,]|-\d\d-\d\d)")


class Side(StrEnum):
    """The side of its limit on which the value that breaks a rule lies."""

    BELOW = "below"
    ABOVE = "above"


BROKEN_ON: Final[Mapping[str, Side]] = {
    ">=": Side.BELOW,
    ">": Side.BELOW,
    "<=": Side.ABOVE,
    "<": Side.ABOVE,
}
"""By the comparison that must hold, the side of the limit on which it does not."""


class RuleText(Struct, frozen=True):
    """The texts of a rule as its file states them.

    `title` is a statement that is true when the rule is met, `broken` the same when it is not met.
    `because` is the reason for it. `fix_below` and `fix_above` are what to do where the deciding
    value is below or above its limit, `broken_below` and `broken_above` how the rule reads there.
    """

    title: str
    because: str
    fix: str
    broken: str | None = None
    fix_below: str | None = None
    fix_above: str | None = None
    broken_below: str | None = None
    broken_above: str | None = None

    @property
    def named(self) -> frozenset[str]:
        """The thresholds whose figures the texts print."""
        texts = (getattr(self, name) for name in self.__struct_fields__)
        return frozenset(name for text in texts if text for name in _NAME.findall(text))

    def broken_on(self, side: Side | None) -> str | None:
        """The title as a statement that is true where the rule is not met, on this side.

        None where the rule states none: one of an officer's own rulebook may, shipped rules do.
        """
        by_side = {Side.BELOW: self.broken_below, Side.ABOVE: self.broken_above}
        return (by_side[side] if side else None) or self.broken

    def when_broken(self, side: Side | None = None) -> str:
        """The same; the title after `Not met` where the rule states none."""
        return self.broken_on(side) or f"Not met: {self.title}"

    def fix_for(self, side: Side | None) -> str:
        """What to do where the value lies on this side of the limit; None where nobody knows."""
        by_side = {Side.BELOW: self.fix_below, Side.ABOVE: self.fix_above}
        return (by_side[side] if side else None) or self.fix


def with_figures(text: str, figures: Mapping[str, str]) -> str:
    """The text with each threshold in braces replaced by its figure."""
    return _NAME.sub(lambda name: figures.get(name[1], f"the {name[1].replace('_', ' ')}"), text)


def figure(text: str) -> str:
    """A threshold's value as sentences print it: `3000 lb` becomes `3,000 lb`."""
    return _LONG_NUMBER.sub(lambda number: f"{int(number[0]):,}", text)


def unknown_names(text: str, thresholds: Iterable[str]) -> list[tuple[str, str, str | None]]:
    """For each name in braces that is no threshold: what was found, what is wanted, a near one."""
    known = list(thresholds)
    found = []
    for name in _NAME.findall(text):
        if name not in known:
            near = nearest(name, known)
            found.append(
                (
                    f"{quoted('{' + name + '}')} in a text of the rule",
                    f"a threshold of the rule in the braces: {listed(known) if known else 'none'}",
                    near and quoted("{" + near + "}"),
                )
            )
    return found
