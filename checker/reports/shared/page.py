"""Wrapped lines on a console, without padding at line ends."""

import re
import shutil
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from itertools import groupby

from rich.cells import cell_len
from rich.console import Console
from rich.control import strip_control_codes
from rich.segment import Segment, Segments

_LEAST_COLUMN = 20
_KEPT_TOGETHER = re.compile(
    r"(?<=\d) (?=(?:%|g|lb|lbf|in|ft|mi|mph|h|min|kg|kN|daN|N|m|cm|km)\b|%)"
)
"""The space between a figure and its unit, at which no line breaks."""
_JOINT = "\N{NO-BREAK SPACE}"
_BETWEEN_ITEMS = 3
_Piece = tuple[str, str]
"""Text and its style."""
_LINE_END: _Piece = ("\n", "")
_SPELT = str.maketrans({"\N{MULTIPLICATION SIGN}": "x", "±": "+/-", "§": "s.", "°": " deg"})
"""Replacements for characters that the reader's encoding lacks; other letters become `?`."""


class Page:
    """Writes paragraphs as wide as the console, in characters that its encoding has."""

    def __init__(self, console: Console) -> None:
        """Take the console's width and encoding once."""
        self.console = console
        # rich assumes that every dumb terminal has 80 columns.
        dumb = console.is_dumb_terminal
        self.width = shutil.get_terminal_size().columns if dumb else console.width
        self.plain = console.options.ascii_only
        self._waiting: list[_Piece] | None = None
        self.written = 0
        """Number of lines printed so far."""

    @contextmanager
    def at_once(self) -> Iterator[None]:
        """Print everything written inside a `with` block in one go, which is quicker in rich."""
        pieces: list[_Piece] = []
        self._waiting = pieces
        yield
        self._waiting = None
        if pieces:
            self._show(pieces)

    def heading(self, text: str) -> None:
        """A bold line after an empty one."""
        self.line()
        self.line(text, style="bold")

    def line(
        self, text: str = "", *, style: str = "", lead: str = "", lead_style: str = ""
    ) -> None:
        """Print one paragraph; `lead` is a column of its own, left of all its lines."""
        for number, part in enumerate(self._parts(text, lead)):
            margin = lead if number == 0 else " " * cell_len(lead)
            self._print((margin, lead_style), (part, style))

    def lines_for(self, text: str, *, lead: str = "") -> int:
        """The number of lines that `line` would print."""
        return len(self._parts(text, lead))

    def _parts(self, text: str, lead: str) -> list[str]:
        width = max(self.width - cell_len(lead), _LEAST_COLUMN)
        return _wrapped(self._readable(text), width)

    def items(self, items: Sequence[str]) -> None:
        """Print short items side by side, as many to a line as fit, none of them broken."""
        row = ""
        for item in map(self._readable, items):
            longer = f"{row}{' ' * _BETWEEN_ITEMS}{item}" if row else item
            if row and cell_len(longer) > self.width:
                self._print((row, ""))
                longer = item
            row = longer
        if row:
            self._print((row, ""))

    def drawn(self, text: str, *, style: str = "") -> None:
        """Print one line of a drawing, not wrapped."""
        self._print((self._readable(text), style))

    def _readable(self, text: str) -> str:
        if not self.plain:
            return text
        return text.translate(_SPELT).encode("ascii", "replace").decode()

    def _print(self, *pieces: _Piece) -> None:
        self.written += 1
        if self._waiting is None:
            self._show([*pieces, _LINE_END])
        else:
            self._waiting += (*pieces, _LINE_END)

    def _show(self, pieces: Sequence[_Piece]) -> None:
        """Print pieces as they are: their lines are as wide as they should be."""
        segments = []
        for style, together in groupby(pieces, key=lambda piece: piece[1]):
            text = strip_control_codes("".join(text for text, _ in together))
            segments.append(Segment(text, self.console.get_style(style)))
        self.console.print(Segments(segments), soft_wrap=True)


def _wrapped(text: str, width: int) -> list[str]:
    """The lines of a paragraph, by the cells its characters take: some letters take two."""
    joined = _KEPT_TOGETHER.sub(_JOINT, re.sub(r"[ \t\r\n]+", " ", text))
    if cell_len(joined) <= width:  # most lines, in a fifth of the time
        return [joined.replace(_JOINT, " ").lstrip(" ")]
    lines: list[str] = []
    row = ""
    for word in joined.split(" "):
        longer = f"{row} {word}" if row else word
        if cell_len(longer) <= width:
            row = longer
            continue
        if row:
            lines.append(row)
        *full, row = _cut(word, width)
        lines += full
    return [line.replace(_JOINT, " ") for line in (*lines, row)]


def _cut(word: str, width: int) -> list[str]:
    """A word cut into parts that fit; one that fits is a single part."""
    pieces = [""]
    for character in word:
        if cell_len(pieces[-1] + character) > width:
            pieces.append("")
        pieces[-1] += character
    return pieces
