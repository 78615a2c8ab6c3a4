"""Reads one YAML 1.2 file in a single pass over parser events, as plain data plus positions.

Profiles and rules may come from strangers. Nothing here builds objects from tags, calls a composer
(ruamel's C composer crashes on deep nesting) or resolves more than YAML 1.2's plain core: whole
numbers, decimals, true/false, null. `yes`, `no` and dates stay text; the schema says where they are
answers and days. Size, depth, node count and alias growth are bounded.
"""

import math
import re
from collections.abc import Iterator, Set
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from ruamel.yaml import YAML
from ruamel.yaml.error import MarkedYAMLError, YAMLError
from ruamel.yaml.events import (
    AliasEvent,
    DocumentStartEvent,
    MappingEndEvent,
    MappingStartEvent,
    ScalarEvent,
    SequenceEndEvent,
    SequenceStartEvent,
)

from checker.documents.document import (
    MOST_BYTES,
    MOST_DEPTH,
    MOST_NODES,
    Data,
    Document,
    decode_text,
    mark_of_end,
    read_bounded,
    unify_line_ends,
)
from checker.documents.escaping import escaped
from checker.documents.problems import DataPath, Mark, Problem, quoted

_WHOLE = re.compile(r"[-+]?(0|[1-9][0-9]{0,18})\Z")
_DECIMAL = re.compile(r"[-+]?(0|[1-9][0-9]*)(\.[0-9]+)?([eE][-+]?[0-9]{1,3})?\Z")
_WORDS: dict[str, Data] = {"true": True, "false": False, "null": None, "~": None, "": None}
# Besides control characters: separators that only some readers treat as line ends, and marks
# that display text in another order than it is read.
_NUMBER_SIGN = re.compile(r"\S(?=[ \t]+#[0-9])")
_SIGN_OF_A_NUMBER = re.compile(r"#[0-9]")
_WITHOUT_TAGS = "plain values without tags; quotes around a text that begins with `!`"
_ANCHOR = re.compile(r"(^|[\s\[{,])&\w", re.MULTILINE)
UNPRINTABLE = re.compile(
    "[^\t\n\x20-\x7e\xa0-\u2027\u202f-\u2065\u206a-\ud7ff\ue000-\ufefe\uff00-\ufffd\U00010000-\U0010ffff]"
)


def read_file(
    path: Path,
    shown_as: str | None = None,
    *,
    first_only: Set[str] = frozenset(),
    until: Set[str] = frozenset(),
) -> Document:
    """The document of one file; if it cannot be read, an empty document with a problem.

    Of a list under a key in `first_only` only the first entry is read, which saves time where the
    others are not needed; a file with anchors is read whole all the same. Reading ends at the first
    top-level key in `until`.
    """
    name = escaped(shown_as or str(path))
    try:
        raw = read_bounded(path)
    except OSError as error:
        reason = (error.strerror or "cannot be read").lower()
        return _empty_document(name, Mark(1, 1), f"a file that cannot be read ({reason})", "")
    return read_bytes(raw, name, first_only=first_only, until=until)


def read_bytes(
    raw: bytes,
    name: str,
    *,
    first_only: Set[str] = frozenset(),
    until: Set[str] = frozenset(),
) -> Document:
    """The document in these bytes; `name` is the file name in problems."""
    name = escaped(name)
    if len(raw) > MOST_BYTES:
        return _empty_document(
            name, Mark(1, 1), "a very large file", f"at most {MOST_BYTES:,} bytes"
        )
    try:
        text = decode_text(raw)
    except UnicodeDecodeError as error:
        good = unify_line_ends(raw[: error.start].decode("utf-8-sig", "replace"))
        return _empty_document(
            name, mark_of_end(good), "bytes that are not UTF-8 text", "a text file saved as UTF-8"
        )
    # Python's own test is many times quicker and refuses more; then the pattern decides.
    plain = text.replace("\n", "").replace("\t", "").isprintable()
    if not plain and (strange := UNPRINTABLE.search(text)):
        mark = mark_of_end(text[: strange.start()])
        return _empty_document(name, mark, f"a control character {strange[0]!a}", "plain text")
    if first_only and "&" in text and _ANCHOR.search(text):
        first_only = frozenset()
    return _Parse(name, text, first_only, until).run()


def _empty_document(name: str, mark: Mark, found: str, wanted: str) -> Document:
    return Document(name, None, {}, {}, [Problem(name, mark, found, wanted)])


def _events(text: str) -> Iterator[Any]:
    """Parser events from libyaml if its binding is installed, else from pure Python."""
    try:
        # The binding, where installed, brings no type information.
        from _ruamel_yaml import CParser  # type: ignore[import-not-found]
    except ImportError:
        parsed: Iterator[Any] = YAML(typ="safe", pure=True).parse(text)
        return parsed
    return iter(CParser(text).get_event, None)


_STARTS: Final = (MappingStartEvent, SequenceStartEvent)
_ENDS: Final = (MappingEndEvent, SequenceEndEvent)


def _start_of(event: Any) -> Mark:
    start = event.start_mark
    return Mark(start.line + 1, start.column + 1)


def _skip(event: Any, events: Iterator[Any]) -> None:
    """Skip the value that starts with an event: all events up to its end."""
    depth = int(isinstance(event, _STARTS))
    while depth:
        event = next(events)
        if isinstance(event, _STARTS):
            depth += 1
        elif isinstance(event, _ENDS):
            depth -= 1


def _ends_before_number_signs(text: str) -> Set[tuple[int, int]]:
    """Line and column from 0 where a text ends before ` #2`.

    YAML takes it for a comment, people mean the second one: two mowers would have one name.
    """
    # Hardly any file has a `#2`, and to look for that alone is many times quicker.
    if not _SIGN_OF_A_NUMBER.search(text):
        return frozenset()
    lines = enumerate(text.split("\n"))
    return {(row, each.end()) for row, line in lines for each in _NUMBER_SIGN.finditer(line)}


def plain_value(text: str) -> Data:
    """The value of an unquoted scalar. `017`, `.nan`, `1e999`, `yes`, `True`, dates stay text."""
    if text in _WORDS:
        return _WORDS[text]
    if _WHOLE.match(text):
        return int(text)
    if _DECIMAL.match(text) and math.isfinite(float(text)):
        return float(text)
    return text


class _StopReadingError(Exception):
    """A limit was exceeded: the rest of the file is not read."""


@dataclass(slots=True)
class _OpenContainer:
    """A mapping or list that has not ended yet."""

    data: dict[str, Data] | list[Data]
    path: DataPath
    anchor: str | None
    first_only: bool = False
    """True for a list of which only the first entry is to be read."""
    key: tuple[str, Mark] | None = None
    """The last key read and its position, until its value is read."""


class _Parse:
    """State of one pass over the events of one file."""

    def __init__(self, name: str, text: str, first_only: Set[str], until: Set[str]) -> None:
        self.text = text
        self.first_only = first_only
        self.until = until
        self.whole = True
        self.name = name
        self.values: dict[DataPath, Mark] = {}
        self.keys: dict[DataPath, Mark] = {}
        self.problems: list[Problem] = []
        self.top: Data = None
        self.open: list[_OpenContainer] = []
        self.anchored: dict[str, tuple[Data, DataPath]] = {}
        self.nodes = 0
        self.documents = 0
        self.cut = _ends_before_number_signs(text)

    def run(self) -> Document:
        """Read all events; a syntax error ends the pass and keeps what was found before it."""
        try:
            events = _events(self.text)
            for event in events:
                if self.until and self.is_last_key(event):
                    self.whole = False
                    break
                if self.first_only and self.list_is_full() and not isinstance(event, _ENDS):
                    _skip(event, events)
                else:
                    self.handle(event)
        except _StopReadingError:
            return self.result(None)
        except MarkedYAMLError as error:
            self.add_syntax_error(error)
            return self.result(None)
        except (YAMLError, ValueError, OverflowError) as error:
            # The last two come from the pure parser, for an escape beyond Unicode.
            self.add_problem(
                Mark(1, 1), f"text that is not YAML ({str(error).splitlines()[0]})", "YAML"
            )
            return self.result(None)
        if not self.problems and self.top is None:
            self.add_problem(Mark(1, 1), "an empty file", "a document that starts with `kind: ...`")
        return self.result(self.top)

    def add_syntax_error(self, error: MarkedYAMLError) -> None:
        # Imported for files with faults only.
        from checker.documents.yaml_mistakes import yaml_mistake

        marks = [error.problem_mark, error.context_mark]
        at, *began = [Mark(each.line + 1, each.column + 1) for each in marks if each] or [
            Mark(1, 1)
        ]
        known = yaml_mistake(self.text, at, *(began or [at]))
        if known is not None:
            self.add_problem(known.mark, known.found, known.wanted, known.suggestion)
            return
        found = f"text that is not YAML ({error.problem or error.context})"
        hint = "`key: value` lines, spaces for indents, and quotes around text with `: ` or `#`"
        self.add_problem(at, found, hint)

    def is_last_key(self, event: Any) -> bool:
        """True if the event is a top-level key at which reading ends."""
        on_top = len(self.open) == 1 and self.expects_key()
        return on_top and isinstance(event, ScalarEvent) and event.value in self.until

    def result(self, data: Data) -> Document:
        return Document(
            self.name, data, self.values, self.keys, self.problems, self.text, self.whole
        )

    def add_problem(
        self, mark: Mark, found: str, wanted: str, suggestion: str | None = None
    ) -> None:
        self.problems.append(Problem(self.name, mark, found, wanted, suggestion))

    def list_is_full(self) -> bool:
        """True if an open list needs no further entries."""
        return bool(self.open) and self.open[-1].first_only and bool(self.open[-1].data)

    def handle(self, event: Any) -> None:
        if isinstance(event, ScalarEvent):  # first, because most events are scalars
            self.scalar(event)
            return
        if isinstance(event, _ENDS):
            done = self.open.pop()
            if done.anchor:
                self.anchored[done.anchor] = (done.data, done.path)
            return
        mark = _start_of(event)
        match event:
            case DocumentStartEvent():
                self.documents += 1
                if self.documents > 1:
                    self.add_problem(mark, "a second document (`---`)", "one in each file")
                    raise _StopReadingError
            case MappingStartEvent() | SequenceStartEvent():
                self.check_tag(event, mark)
                data: dict[str, Data] | list[Data]
                data = {} if isinstance(event, MappingStartEvent) else []
                path = self.store(data, mark)
                first_only = isinstance(data, list) and path[-1:] and path[-1] in self.first_only
                self.open.append(_OpenContainer(data, path, event.anchor, bool(first_only)))
                if len(self.open) > MOST_DEPTH:
                    self.add_problem(mark, "very deep nesting", f"at most {MOST_DEPTH} levels")
                    raise _StopReadingError
            case AliasEvent():
                self.alias(event.anchor, mark)

    def check_tag(self, event: Any, mark: Mark) -> None:
        # `tag` is computed from `ctag` on every access.
        if event.ctag is not None:
            self.add_problem(mark, f"a tag {quoted(event.tag)}", _WITHOUT_TAGS)

    def check_letters(self, text: str, mark: Mark) -> None:
        """Refuse characters that an escape hides from the check of the whole file."""
        if strange := UNPRINTABLE.search(text):
            self.add_problem(mark, f"a control character {strange[0]!a}", "plain text")
            raise _StopReadingError

    def expects_key(self) -> bool:
        return bool(self.open) and isinstance(self.open[-1].data, dict) and not self.open[-1].key

    def scalar(self, event: Any) -> None:
        mark = _start_of(event)
        text: str = event.value
        self.check_tag(event, mark)
        if event.style == '"':
            self.check_letters(text, mark)
        if self.expects_key():
            self.open[-1].key = (text, mark)
            return
        value = text if event.style else plain_value(text)
        if value is None and text == "" and self.open and self.open[-1].key:
            # The parsers disagree on where a missing value is; a person looks at its key.
            mark = self.open[-1].key[1]
        path = self.store(value, mark)
        if event.anchor:
            self.anchored[event.anchor] = (value, path)
            if value is None and not event.style:
                found = f"nothing after {quoted('&' + event.anchor)}"
                self.add_problem(mark, found, "quotes around a text that begins with `&`")
        if self.cut and text and (event.end_mark.line, event.end_mark.column) in self.cut:
            found = f"{quoted(text)} and a number after ` #`, where a comment begins"
            wanted = "quotes around both, or a space after the `#` of a comment"
            self.add_problem(mark, found, wanted)

    def store(self, value: Data, mark: Mark) -> DataPath:
        """Put a value into the open container, record its position, and return its path."""
        self.count(mark)
        if not self.open:
            self.top = value
            path: DataPath = ()
        else:
            path = self.store_inside(self.open[-1], value, mark)
        self.values[path] = mark
        return path

    def store_inside(self, inside: _OpenContainer, value: Data, mark: Mark) -> DataPath:
        if isinstance(inside.data, list):
            inside.data.append(value)
            return (*inside.path, len(inside.data) - 1)
        if inside.key is None:
            self.add_problem(mark, "a list or mapping used as a key", "a plain word as the key")
            raise _StopReadingError
        (key, key_mark), inside.key = inside.key, None
        path = (*inside.path, key)
        if key in inside.data:
            first = self.keys[path].line
            wanted = f"each key once; it is already on line {first}"
            self.add_problem(key_mark, f"the key {quoted(key)} a second time", wanted)
            # The first value stays; the second is still read so that its own problems show.
            return (*inside.path, f"{key} (again)")
        inside.data[key] = value
        self.keys[path] = key_mark
        return path

    def alias(self, name: str, mark: Mark) -> None:
        if self.expects_key():
            self.add_problem(mark, f"an alias {quoted('*' + name)} used as a key", "a plain word")
            raise _StopReadingError
        if name not in self.anchored:
            wanted = "an anchor of that name earlier in the file"
            self.add_problem(mark, f"an alias {quoted('*' + name)}", wanted)
            self.store(None, mark)
            return
        value, source = self.anchored[name]
        target = self.store(value, mark)
        self.copy_marks(value, source, target, mark)

    def copy_marks(self, value: Data, source: DataPath, target: DataPath, mark: Mark) -> None:
        """Give everything inside an alias the positions of the original, and count it again."""
        if len(target) > MOST_DEPTH:
            self.add_problem(mark, "very deep nesting", f"at most {MOST_DEPTH} levels")
            raise _StopReadingError
        if not isinstance(value, dict | list):
            return
        for key, inner in value.items() if isinstance(value, dict) else enumerate(value):
            self.count(mark)
            old, new = (*source, key), (*target, key)
            self.values[new] = self.values[old]
            if old in self.keys:
                self.keys[new] = self.keys[old]
            self.copy_marks(inner, old, new, mark)

    def count(self, mark: Mark) -> None:
        self.nodes += 1
        if self.nodes > MOST_NODES:
            wanted = f"at most {MOST_NODES:,} values, repeated ones counted each time"
            self.add_problem(mark, "a very large document", wanted)
            raise _StopReadingError
