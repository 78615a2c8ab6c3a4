"""Text in Markdown that is read as text."""

import html
import re

# Characters that Markdown reads as markup.
_SIGNS = re.compile(r"([\\`*_{}\[\]()#+\-.!|~>])")


def plain(text: str) -> str:
    """Text on one line in which nothing counts as Markdown or HTML."""
    return _SIGNS.sub(r"\\\1", html.escape(" ".join(text.split()), quote=False))
