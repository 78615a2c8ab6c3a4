"""Pages of loads that an earlier run left in a folder, marked as out of date."""

import re
from typing import Final

_GENERATOR: Final = re.compile(r'<meta name="generator" content="cinchbook [^"]*">')
_CURRENT: Final = '<body class="load">'
_OUTDATED: Final = '<body class="load outdated">'
_WORDS: Final = (
    '\n<p class="outcome open"><strong>OUT OF DATE:</strong> the last check written into this '
    'folder did not check this load. Do not go by this page: see <a href="{index}">all load '
    "profiles</a>.</p>"
)


def outdated_page(text: str, index_name: str) -> str | None:
    """The page of a load with a mark that it is out of date; None for any other text.

    A page that has the mark stays as it is. The page that lists all loads is `index_name`.
    """
    if not _GENERATOR.search(text):
        return None
    if _OUTDATED in text:
        return text
    if _CURRENT not in text:
        return None
    marked = text.replace(_CURRENT, _OUTDATED + _WORDS.format(index=index_name), 1)
    return marked.replace("<title>", "<title>OUT OF DATE - ", 1)
