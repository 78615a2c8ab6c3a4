"""Finds units and percent signs in the number format codes of spreadsheet cells.

Formats of days and times need no check, as the library returns such cells as days and times.
"""

import re
from functools import lru_cache
from typing import Final

# Text in quotes or after a backslash is shown as it is. Brackets hold colours, conditions and
# currencies; what follows _ or * is a width or a filling.
_TOKEN: Final = re.compile(
    r'"(?P<quoted>[^"]*)"|\\(?P<escaped>.)|\[[^\]]*\]|[_*].|general|e[+-]|(?P<bare>.)',
    re.IGNORECASE | re.DOTALL,
)
_UNIT: Final = re.compile(r"""[^\W\d_]|[°'"′″%]""")  # noqa: RUF001


@lru_cache(maxsize=1024)
def shows_unit(code: str) -> bool:
    """True if the format shows letters or signs such as `°` with the number, as in `0" kg"`."""
    return any(
        _UNIT.search(token["quoted"] or token["escaped"] or (token["bare"] or "").strip("%"))
        for token in _TOKEN.finditer(code)
    )


@lru_cache(maxsize=1024)
def shows_share(code: str) -> bool:
    """True if the format shows the number as percent: 0.07 as 7%."""
    return any(token["bare"] == "%" for token in _TOKEN.finditer(code))
