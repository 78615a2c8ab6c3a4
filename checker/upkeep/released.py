"""Ids of released rules, as `released-ids.txt` beside rule files lists them.

An id in an old report must mean the same rule forever. The list is sorted, one line for each: the
id, two spaces, its title at release; `removed: ` before the title where the rule no longer exists.
A removed id is never used again.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from checker.documents.escaping import escaped
from checker.documents.files import read_content
from checker.documents.problems import Mark, Problem, ProblemsFoundError, nearest, quoted
from checker.load.build import shown_path

LIST_NAME: Final = "released-ids.txt"
REMOVED: Final = "removed: "
_GAP: Final = "  "
_MOST_BYTES: Final = 10_000_000


@dataclass(frozen=True, slots=True)
class ReleasedIds:
    """One list: titles at release and lines by id; no rule has a `removed` id any more."""

    file: str
    titles: Mapping[str, str]
    lines: Mapping[str, int]
    removed: frozenset[str]
    whole: bool
    """True if all rules of the list's own folder are among those to compare."""

    def faults(self, rule_ids: Sequence[str]) -> list[Problem]:
        """Removed ids that are used again, and released ids missing without a `removed:` line."""
        standing = set(rule_ids)
        problems = []
        for rule_id, line in self.lines.items():
            mark = Mark(line, 1)
            if rule_id in self.removed and rule_id in standing:
                found = f"the removed id '{rule_id}' used again by a rule"
                problems.append(Problem(self.file, mark, found, "a new id for that rule"))
            elif self.whole and rule_id not in standing and rule_id not in self.removed:
                found = f"the released id '{rule_id}', which no rule has"
                wanted = f"its rule, or `{REMOVED.strip()}` before its title"
                guess = nearest(rule_id, standing - self.lines.keys())
                problems.append(Problem(self.file, mark, found, wanted, guess and f"'{guess}'"))
        return problems


def read_released(folder: Path, *, whole: bool) -> ReleasedIds | None:
    """The list of a folder, or None if it has none. Raises ProblemsFoundError."""
    path = folder / LIST_NAME
    file = escaped(shown_path(path))
    try:
        text = read_content(path, _MOST_BYTES).decode("utf-8", "replace")
    except FileNotFoundError:
        return None
    except OSError as error:
        reason = (error.strerror or str(error)).lower()
        found = f"a file that cannot be read ({reason})"
        raise ProblemsFoundError([Problem(file, Mark(1, 1), found, "")]) from error
    titles: dict[str, str] = {}
    lines: dict[str, int] = {}
    removed: set[str] = set()
    problems: list[Problem] = []
    previous = ""
    for number, line in enumerate(text.splitlines(), start=1):
        rule_id, gap, title = line.partition(_GAP)
        mark = Mark(number, 1)
        if not (gap and rule_id and title):
            wanted = "an id, two spaces and the rule's title at release"
            problems.append(Problem(file, mark, quoted(line), wanted))
            continue
        if rule_id <= previous:
            wanted = "each id once, in the order of the alphabet"
            problems.append(Problem(file, mark, f"'{rule_id}' after '{previous}'", wanted))
        previous = rule_id
        lines[rule_id] = number
        if title.startswith(REMOVED):
            removed.add(rule_id)
        titles[rule_id] = title.removeprefix(REMOVED)
    if problems:
        raise ProblemsFoundError(problems)
    return ReleasedIds(file, titles, lines, frozenset(removed), whole)


def with_added(text: str, titles: Mapping[str, str]) -> str:
    """The list's text with missing rules added; existing lines stay as they are."""
    lines = {line.partition(_GAP)[0]: line for line in text.splitlines()}
    for rule_id, title in titles.items():
        lines.setdefault(rule_id, f"{rule_id}{_GAP}{title}")
    return "".join(f"{lines[rule_id]}\n" for rule_id in sorted(lines))
