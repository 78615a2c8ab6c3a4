"""The calls that show one haul of an audited log."""

import shlex
from collections.abc import Sequence

from msgspec import Struct


class HaulCommands(Struct, frozen=True):
    """`cinchbook check LOG#ROW` and the like, with the log and options of an audit's own call."""

    log: str = "LOG"
    options: Sequence[str] = ()
    """Those by which the log is read and its hauls are checked."""

    def check(self, row: int | str) -> str:
        """The call that shows a row as a load, with every rule."""
        return self._called("check", row)

    def explain(self, row: int | str) -> str:
        """The call that shows one rule of a row in full."""
        return self._called("explain", row, "RULE")

    def _called(self, command: str, row: int | str, *more: str) -> str:
        haul = f"{self.log}#{row}"
        # A shell reads `#` as the start of a comment only where a word begins.
        if shlex.quote(self.log) != self.log:
            haul = shlex.quote(haul)
        return " ".join(("cinchbook", command, haul, *more, *map(shlex.quote, self.options)))
