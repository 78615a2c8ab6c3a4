"""Whether each rulebook applied to a load."""

from msgspec import Struct

from checker.evaluation.evaluator import BookEvaluator
from checker.evaluation.rule_rows import VERDICTS
from checker.rulebooks.model import Rulebook
from checker.rulebooks.verdicts import Verdict


class InForce(Struct, frozen=True):
    """Whether a rulebook applied to the load, and the reason where it did not."""

    book: Rulebook
    verdict: Verdict
    missing: tuple[str, ...]
    elsewhere: bool  # the trip does not touch the jurisdiction of the rulebook
    out_of_date: bool  # the day is not one of the rulebook's

    @property
    def because(self) -> str:
        """The reason why the rulebook was left out."""
        if self.elsewhere:
            return f"the trip does not touch {self.book.jurisdiction}"
        if self.out_of_date:
            return f"in force {self.book.days}"
        return self.book.scope.because if self.book.scope else ""


def in_force(evaluator: BookEvaluator) -> InForce:
    """Whether the rulebook of an evaluator applied, in its only row."""
    return InForce(
        book=evaluator.book,
        verdict=VERDICTS[evaluator.verdicts[0]],
        missing=tuple(evaluator.missing_for_scope),
        elsewhere=evaluator.here == 0,
        out_of_date=not evaluator.in_force,
    )
