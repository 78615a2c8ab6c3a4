"""Tolerances that an arrangement must hold in: of where articles stand, and of what they weigh."""

from typing import TYPE_CHECKING, Any

from msgspec import Struct
from msgspec.structs import replace

from checker.advice.arrange.choices import INCH, Choices, clearance_of, length_text
from checker.mechanics.quantities import POUND_FORCE
from checker.units.parsing import UnitError, parse

if TYPE_CHECKING:
    from checker.documents.problems import DataPath

_KINDS = {"position": "length", "weight": "ratio"}
_WANTED = "position=LENGTH or weight=SHARE, such as position=3in or weight=5%"


class ToleranceError(Exception):
    """A text that states no tolerance of an arrangement: what was found, and what is wanted."""

    def __init__(self, found: str, wanted: str = _WANTED) -> None:
        """Both as the end of a sentence."""
        super().__init__(f"found {found}; wanted {wanted}")


class Tolerances(Struct, frozen=True):
    """How far everything may differ from the plan, one way and the other.

    `position` is in m, along the deck and across it; `weight` is a share of the weight of an
    article, with its balance kept.
    """

    position: float = 0.0
    weight: float = 0.0

    def __bool__(self) -> bool:
        """True if anything may differ."""
        return bool(self.position or self.weight)


NO_TOLERANCES = Tolerances()


def read_tolerances(texts: list[str]) -> Tolerances:
    """Tolerances from texts such as `position=3in`. Raises ToleranceError."""
    found: dict[str, float] = {}
    for text in texts:
        name, _, value = (part.strip() for part in text.partition("="))
        if name not in _KINDS:
            raise ToleranceError(f"'{text}'")
        if name in found:
            raise ToleranceError(f"'{name}' twice", "it once")
        try:
            quantity = parse(value, _KINDS[name])
        except UnitError as error:
            raise ToleranceError(f"'{text}'", error.wanted) from None
        if quantity.half_width or not 0 < quantity.value < (1 if name == "weight" else 100):
            raise ToleranceError(f"'{text}'", f"a size above zero without a tolerance: {_WANTED}")
        found[name] = quantity.value
    return Tolerances(**found)


def with_tolerances(choices: Choices, tolerances: Tolerances) -> Choices:
    """The choices with these tolerances stated where the profile states none that is greater.

    Rules read axle weights of an article as shares of its weight alone, so the tolerance of the
    weight moves them along. Where nothing says how an article stands, its tolerance is written with
    a place that every plan replaces.
    """
    profile, load = choices.profile, choices.load
    texts: dict[DataPath, Any] = {}
    for index, article in enumerate(load.articles):
        at: DataPath = ("articles", index)
        for axis, start in (("x", float(load.trailer.deck.front)), ("y", 0.0)):
            value = float(getattr(article.placed, axis))
            path: DataPath = (*at, "placed", axis)
            _, half = profile.tolerances.get(path, (0.0, 0.0))
            if tolerances.position > half:
                value = start if value != value else value
                texts[path] = length_text(value, choices.step, tolerances.position)
        weight = float(article.weight)
        _, half = profile.tolerances.get((*at, "weight"), (0.0, 0.0))
        if tolerances.weight * weight > half:
            texts[(*at, "weight")] = _weight_text(weight, tolerances.weight * weight, choices.step)
    changed = profile.replaced(texts)
    return replace(choices, profile=changed, clearance=clearance_of(changed))


def _weight_text(weight: float, half: float, step: float) -> str:
    unit, size = ("lb", POUND_FORCE) if step == INCH else ("N", 1.0)
    return f"{weight / size:.9g} {unit} +/- {half / size:.9g} {unit}"
