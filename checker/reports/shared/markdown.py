"""Text in Markdown that is read as text."""

import html
import re

# Signs that servers read in the finished page, where a backslash is gone: names, issues, labels,
# merge requests, milestones, epics, mathematics and the names of emoji.
_IN_THE_PAGE = r"\$|[@#!~%&](?=\w)|:(?=[\w+-]+:)"
# Characters that Markdown or HTML reads as markup.
_MARKUP = r"[\\`*_{}\[\]()#+\-.!|~<>&]"
_SIGNS = re.compile(f"(?P<in_the_page>{_IN_THE_PAGE})|{_MARKUP}")


def plain(text: str) -> str:
    """Text on one line in which nothing counts as Markdown, HTML, a name or a reference."""
    return _SIGNS.sub(_as_text, " ".join(text.split()))


def _as_text(sign: re.Match[str]) -> str:
    escaped = html.escape(sign[0], quote=False)
    if sign["in_the_page"]:
        # An element of its own parts the sign from its name, and nothing is added to what is read.
        return f"<span>{escaped}</span>"
    return escaped if escaped != sign[0] else f"\\{escaped}"
