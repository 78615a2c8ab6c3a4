"""Wrapped lines on a console, without the padding that would end up in pipes and files."""

import textwrap

from rich.console import Console
from rich.text import Text


class Page:
    """Writes paragraphs as wide as the console."""

    def __init__(self, console: Console) -> None:
        """Take the console's width once."""
        self.console = console
        self.width = console.width

    def heading(self, text: str) -> None:
        """A bold line after an empty one."""
        self.line()
        self.line(text, style="bold")

    def line(
        self, text: str = "", *, style: str = "", lead: str = "", lead_style: str = ""
    ) -> None:
        """One paragraph; `lead` stands in a column of its own to the left of all its lines."""
        width = max(self.width - len(lead), 20)
        wrapped = textwrap.wrap(text, width, break_on_hyphens=False) or [""]
        for number, part in enumerate(wrapped):
            margin = lead if number == 0 else " " * len(lead)
            self.console.print(Text.assemble((margin, lead_style), (part, style)), soft_wrap=True)

    def drawn(self, text: str, *, style: str = "") -> None:
        """One line of a drawing, not wrapped."""
        self.console.print(Text(text, style), soft_wrap=True)
