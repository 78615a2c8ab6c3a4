"""The list of hauls on hold or open as data, in the page of an audit or in files beside it.

A page opened from disk may load scripts from its own folder, but no other data: so each file beside
it is a script that calls one function with rows. Every file has the key of the list, by which the
page knows its own.
"""

import json
from collections.abc import Mapping, Sequence
from hashlib import blake2b
from itertools import islice
from typing import Any, Final

from msgspec import Struct

from checker.reports.shared.haul_list import HaulList, ListedHaul, Reason
from checker.reports.shared.words import share_of_limit_words

MOST_IN_PAGE: Final = 5_000_000
"""Bytes of a page up to which the list is in the page itself."""
_ROWS_OF_A_FILE: Final = 10_000
"""About a megabyte."""
CALL: Final = "cinchbookHauls("
"""How every file beside a page begins."""


class HaulListData(Struct, frozen=True):
    """The list as data: `words` that rows refer to by index, and rows in files, worst first."""

    words: Mapping[str, Any]
    files: Sequence[str]
    """The rows as JSON arrays, some for each file."""

    @property
    def size(self) -> int:
        """Bytes of all rows."""
        return sum(map(len, self.files))

    def in_page(self) -> str:
        """The whole list, to stand in the page as it is."""
        rows = ",".join(each[1:-1] for each in self.files if each != "[]")
        return _escaped({**self.words, "folder": None, "files": 1}, f"[{rows}]")

    def beside(self, folder: str) -> tuple[str, Mapping[str, str]]:
        """What stands in the page where the rows are in files of a folder, and those by name."""
        key = blake2b("".join(self.files).encode(), digest_size=8).hexdigest()
        head = {**self.words, "folder": folder, "files": len(self.files), "key": key}
        files = {
            f"{number:04}.js": f'{CALL}"{key}", {number}, {rows});\n'
            for number, rows in enumerate(self.files, 1)
        }
        return _escaped(head, "[]"), files


def haul_list_data(held: HaulList, worked: Sequence[int]) -> HaulListData:
    """The hauls on hold or open as data; `worked` are the rows with a working in the page."""
    tables: dict[str, dict[str, int]] = {"days": {}, "loads": {}, "trailers": {}, "crews": {}}
    lines = held.lines()
    files = []
    while some := list(islice(lines, _ROWS_OF_A_FILE)):
        rows = ",\n".join(_json(_row(held, line, tables)) for line in some)
        files.append(f"[{rows}]")
    words = {
        "hauls": len(held),
        "worked": list(worked),
        "reasons": [_reason(each) for each in held.reasons],
        **{name: list(table) for name, table in tables.items()},
    }
    return HaulListData(words, files)


def _row(held: HaulList, line: ListedHaul, tables: Mapping[str, dict[str, int]]) -> list[Any]:
    named = {
        "days": line.day.isoformat(),
        "loads": line.load,
        "trailers": line.trailer,
        "crews": line.crew,
    }
    codes = (table.setdefault(named[name], len(table)) for name, table in tables.items())
    margin = line.margin
    words = "" if margin is None else share_of_limit_words(margin)
    share = None if margin is None else float(f"{margin:.6g}")
    decides = (line.reason, *held.texts(line), share, words, line.others)
    return [line.row, line.name, *codes, *decides, int(line.is_open)]


def _reason(reason: Reason) -> dict[str, str | None]:
    return {
        "rule": reason.rule,
        "title": reason.title,
        "compares": reason.compares,
        "side": reason.side and reason.side.value,
    }


def _json(data: Any) -> str:
    """Data as JSON of plain characters alone, which means the same in a script and in a page."""
    return json.dumps(data, ensure_ascii=True, allow_nan=False, separators=(",", ":"))


def _escaped(head: Mapping[str, Any], rows: str) -> str:
    """The list as the text of an element; quotes may stay, and would take half of the page."""
    text = f'{{"head":{_json(head)},"rows":{rows}}}'
    return text.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")
