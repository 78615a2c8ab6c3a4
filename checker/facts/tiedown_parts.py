"""Whether a tiedown holds a corner, and whether the parts at its ends fit its chain."""

from checker.facts.catalogue import ANSWER, COMMON_PRACTICE, STATED, fact
from checker.facts.view import View
from checker.units.arithmetic import NOT_STATED, Number


@fact(
    "tiedown.holds_one_corner",
    ANSWER,
    "it holds one corner of the article",
    each="tiedown",
    fields=("tiedowns.*.path",),
    instead=("tiedowns.*.over_wheel",),
    source=COMMON_PRACTICE,
)
def holds_one_corner(view: View) -> Number:
    """It runs straight to the article, or over one of its wheels and back to the same side."""
    match view.tiedown.path:
        case "direct":
            return 1.0
        case "same side":
            return view.tiedown.over_wheel
        case "other side":
            return 0.0
    return NOT_STATED


_GRADES = ("none", "30", "43", "70", "80", "100")

for _part, _words in (("hooks", "its hooks are"), ("tensioner", "its binder is")):

    @fact(
        f"tiedown.{_part}_of_chain_grade",
        ANSWER,
        f"{_words} of the chain's grade or a higher one",
        each="tiedown",
        fields=("tiedowns.*.grade", f"tiedowns.*.{_part}_grade"),
        source=STATED,
    )
    def of_chain_grade(view: View, part: str = f"{_part}_grade") -> Number:
        """The grade marked on this part is that of the chain or a higher one."""
        chain, own = view.tiedown.grade, getattr(view.tiedown, part)
        if chain is None or own is None:
            return NOT_STATED
        return float(_GRADES.index(own) >= _GRADES.index(chain))
