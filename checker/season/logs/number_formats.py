"""What the number format of a cell shows beside the number, in the codes that a sheet saves.

Formats of days and times are none of this: their numbers are given as days and times.
"""

import re
from functools import lru_cache
from typing import Final

# Text in quotes or after a backslash is shown as it is. Brackets hold colours, conditions and
# currencies; what follows _ or * is a width or a filling.
_PIECE: Final = re.compile(
    r'"(?P<quoted>[^"]*)"|\\(?P<escaped>.)|\[[^\]]*\]|[_*].|general|e[+-]|(?P<bare>.)',
    re.IGNORECASE | re.DOTALL,
)
_UNIT: Final = re.compile(r"""[^\W\d_]|[°'"′″%]""")  # noqa: RUF001


@lru_cache(maxsize=1024)
def shows_unit(code: str) -> bool:
    """Whether letters or signs such as `°` stand beside the number, as in `0" kg"`."""
    return any(
        _UNIT.search(piece["quoted"] or piece["escaped"] or (piece["bare"] or "").strip("%"))
        for piece in _PIECE.finditer(code)
    )


@lru_cache(maxsize=1024)
def shows_share(code: str) -> bool:
    """Whether the number is shown as percent: 0.07 as 7%."""
    return any(piece["bare"] == "%" for piece in _PIECE.finditer(code))
