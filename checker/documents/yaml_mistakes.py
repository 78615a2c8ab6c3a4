"""What a person did where a text is not YAML: the mistake behind the parser's error.

A parser reports where it gave up, often a line below the mistake and in words of its own grammar.
The checks here look at the lines up to there, most specific mistake first.
"""

import re
from collections.abc import Callable, Iterator

from msgspec import Struct

from checker.documents.problems import Mark, quoted, shorten

_KEY = re.compile(
    r"(?P<lead>\s*(?:-\s+)*)(?P<key>[^\s:#'\"\[{-][^:#]*?|'[^']*'|\"[^\"]*\"):(?=\s|$)"
)
_GLUED = re.compile(
    r"(?P<lead>\s*(?:-\s+)*)(?P<key>[\w \"'-]*[\w\"'])(?P<sign>\s*[:\uff1a=])\s*(?P<value>\S.*)"
)
SPECIAL_SPACE = re.compile("[\u00a0\u1680\u2000-\u200a\u202f\u205f\u3000]")
"""Spaces that look like plain ones and that YAML does not read as such."""

_OPENING = {"[": "]", "{": "}"}
_RESERVED = "@`%*&!|>,?"


class YamlMistake(Struct, frozen=True):
    """A mistake in the form of a YAML text, as parts of a problem."""

    mark: Mark
    found: str
    wanted: str
    suggestion: str | None = None


class _Error(Struct, frozen=True):
    """Where the parser gave up, and where the construct began that it was reading."""

    lines: list[str]
    at: Mark
    began: Mark

    def line(self, number: int) -> str:
        """A line by its number from 1; empty beyond the last."""
        return self.lines[number - 1] if number <= len(self.lines) else ""

    def above(self, number: int) -> Iterator[tuple[int, str]]:
        """The lines above one, nearest first, without blank lines and comments."""
        for each in range(min(number - 1, len(self.lines)), 0, -1):
            text = self.line(each)
            if text.strip() and not text.lstrip().startswith("#"):
                yield each, text

    def last_lines(self) -> Iterator[tuple[int, str]]:
        """The line of the error and the one above it."""
        if self.line(self.at.line).strip():
            yield self.at.line, self.line(self.at.line)
        for above in self.above(self.at.line):
            yield above
            return


def yaml_mistake(text: str, at: Mark, began: Mark) -> YamlMistake | None:
    """The mistake behind a parser's error; None if it is none of the usual ones.

    `at` is where the parser gave up, `began` where the construct that it was reading begins.
    """
    error = _Error(text.split("\n"), at, began)
    for check in _CHECKS:
        if (found := check(error)) is not None:
            return found
    return None


def _tab(error: _Error) -> YamlMistake | None:
    line = error.line(error.at.line)
    column = line.find("\t")
    if column < 0 or line[:column].strip():
        if line[error.at.column - 1 : error.at.column] != "\t":
            return None
        return YamlMistake(error.at, "a tab", "spaces")
    above = next((text for _, text in error.above(error.at.line)), "")
    spaces = _indent(above) + (2 if above.rstrip().endswith(":") else 0)
    return YamlMistake(
        Mark(error.at.line, column + 1),
        "a tab in the indent",
        f"spaces; {_spaces(spaces)} fit below line {error.at.line - 1}" if above else "spaces",
    )


def _odd_space(error: _Error) -> YamlMistake | None:
    for number, line in error.last_lines():
        key = re.match(r"\s*[\w-]+:|\s*", line)
        odd = SPECIAL_SPACE.match(line, key.end()) if key else None
        odd = odd or SPECIAL_SPACE.search(line[: _indent(line)])
        if odd:
            return YamlMistake(
                Mark(number, odd.start() + 1),
                f"a special space (U+{ord(odd[0]):04X})",
                "a plain space, as the space bar types it",
            )
    return None


def _indented_start(error: _Error) -> YamlMistake | None:
    """A first line with an indent that the lines below it do not have."""
    lines = list(error.above(error.at.line))
    if not lines:
        return None
    number, first = lines[-1]
    if not _indent(first) or _indent(error.line(error.at.line)):
        return None
    return YamlMistake(
        Mark(number, 1), f"an indent of {_spaces(_indent(first))} before the first key", "none"
    )


def _escape(error: _Error) -> YamlMistake | None:
    line = error.line(error.at.line)
    start = max(error.at.column - 2, 0)
    column = line.find("\\", start, start + 2)
    if column < 0 or '"' not in line[:column]:
        return None
    return YamlMistake(
        Mark(error.at.line, column + 1),
        f"{quoted(line[column : column + 2])} in double quotes, where a backslash has a meaning",
        "single quotes around text with a backslash",
    )


def _quote(error: _Error) -> YamlMistake | None:
    """A value that begins with a quote and is not closed, or goes on after it."""
    lines = [(error.at.line, error.line(error.at.line)), *error.above(error.at.line)]
    for number, line in lines:
        found = _value_of(line)
        if found is None:
            continue
        column, value = found
        quote = value[:1]
        if quote not in ("'", '"'):
            continue
        rest = value[1:].replace("''", "  ") if quote == "'" else re.sub(r"\\.", "  ", value[1:])
        end = rest.find(quote)
        if end < 0:
            return YamlMistake(
                Mark(number, column),
                f"an opening quote {quote} without a closing one on its line",
                f"{quote} at the end as well, or no quotes at all (inches: 86 in)",
            )
        after = rest[end + 1 :]
        if after.strip() and not re.match(r"\s+#|\s*:(\s|$)|\s*[,\]}]", after):
            other = '"' if quote == "'" else "'"
            wanted = f"the whole text in quotes of the other form ({other})"
            inches = quote in value[1:] and re.search(r"\d", value)
            wanted += ", or a figure such as 7 ft 2 in" if inches else ""
            begins = len(after) - len(after.lstrip())
            at = Mark(number, column + 1 + end + 1 + begins)
            return YamlMistake(
                at, f"{quoted(after.strip())} after the closing quote {quote}", wanted
            )
    return None


def _in_brackets(error: _Error) -> YamlMistake | None:
    """Text in `[...]` or `{...}` that is not closed, lacks a comma or goes on after it."""
    line = error.line(error.at.line)
    found = _value_of(line)
    bracketed = found is not None and found[1][:1] in _OPENING
    glued = re.search(r"[{,]\s*([\w-]+):(?=\w)([^,}]*)", line) if bracketed else None
    if glued:
        return YamlMistake(Mark(error.at.line, glued.start(2)), *no_space(glued[1], glued[2]))
    begins = _open_bracket(error)
    if begins is not None:
        opened = error.line(begins.line)[begins.column - 1]
        rest = [error.line(begins.line)[begins.column :], *error.lines[begins.line : error.at.line]]
        if any(_OPENING[opened] in text for text in rest):
            return YamlMistake(
                error.at, f"no comma between two entries of `{opened}`", "`, ` between them"
            )
        return YamlMistake(
            begins,
            f"`{opened}` without its `{_OPENING[opened]}`",
            f"`{_OPENING[opened]}` after the last entry, or quotes around such a text",
        )
    if found and bracketed and error.at.column > found[0]:
        return _needs_quotes(error.at.line, *found, line)
    return None


def _open_bracket(error: _Error) -> Mark | None:
    """Where the bracket stands that the parser was reading in."""
    if error.line(error.began.line)[error.began.column - 1 : error.began.column] in ("[", "{"):
        return error.began
    for number, line in error.above(error.at.line):
        value = _value_of(line)
        opens = value is not None and value[1] in _OPENING
        return Mark(number, value[0]) if value and opens else None
    return None


def _reserved(error: _Error) -> YamlMistake | None:
    """A value that begins with a character of YAML's own."""
    line = error.line(error.at.line)
    found = _value_of(line)
    if found is None:
        return None
    column, value = found
    if re.match(r"- |-$", value):
        return YamlMistake(
            Mark(error.at.line, column),
            "a list entry `- ` on the line of its key",
            "entries on lines of their own below the key, or quotes around a text",
        )
    return _needs_quotes(error.at.line, column, value, line) if value[0] in _RESERVED else None


def _needs_quotes(number: int, column: int, value: str, line: str) -> YamlMistake:
    text = line[: column - 1] + _in_quotes(value)
    return YamlMistake(
        Mark(number, column),
        f"a text that begins with '{value[0]}', which YAML reads as a sign of its own",
        "quotes around it",
        f"`{shorten(text.strip())}`",
    )


def _second_colon(error: _Error) -> YamlMistake | None:
    line = error.line(error.at.line)
    found = _value_of(line)
    if found is None:
        return None
    column, value = found
    inner = re.search(r":(?=\s|$)", value)
    if inner is None or value[0] in "'\"[{":
        return None
    text = line[: column - 1] + _in_quotes(value)
    # With several words before it, the last may be another key.
    one_text = re.search(r"[\s,]", value[: inner.start()]) is None
    return YamlMistake(
        Mark(error.at.line, column + inner.start()),
        "a second `: ` on the line",
        "quotes around a text with a colon, and each `key: value` on a line of its own",
        f"`{shorten(text.strip())}`" if one_text else None,
    )


def _no_colon(error: _Error) -> YamlMistake | None:
    """A line without `key: `, at the error or just above it."""
    number, line = error.began.line, error.line(error.began.line)
    lines = [(number, line)] if number < error.at.line and line.strip() else []
    for number, line in [*lines, *error.last_lines()]:
        text = line.strip()
        if _KEY.match(line) or re.match(r"- |-$|[\[\]{}#%]|---|\.\.\.", text):
            continue
        if glued := _GLUED.match(line):
            at = Mark(number, glued.end("sign"))
            key, sign, value = glued["key"], glued["sign"].strip(), glued["value"]
            if sign == ":":
                return YamlMistake(at, *no_space(key, value))
            return YamlMistake(
                at,
                f"`{sign}` after {quoted(key)}",
                "a colon and a space",
                f"`{shorten(f'{key}: {value}')}`",
            )
        key, space, value = text.partition(" ")
        if re.fullmatch(r"[\w-]+", key):
            meant = f"{key}: {value}" if space else f"{key}:"
            at = Mark(number, _indent(line) + len(key) + 1)
            found = f"no colon after {quoted(key)}"
            return YamlMistake(at, found, "`key: value`", f"`{shorten(meant)}`")
    return None


def no_space(key: str, value: str) -> tuple[str, str, str]:
    """What was found, wanted and meant where a key and its value are one word: `key:value`."""
    meant = f"{key}: {value}"
    return f"no space after the colon of {quoted(key)}", "`key: value`", f"`{shorten(meant)}`"


def _indents(error: _Error) -> YamlMistake | None:
    """A line that is indented as none of those it may belong to."""
    line = error.line(error.at.line)
    indent = _indent(line)
    if not line.strip() or error.at.column - 1 < indent:
        return None
    above = next(error.above(error.at.line), None)
    if above is None:
        return None
    mark = Mark(error.at.line, indent + 1)
    at = f"an indent of {_spaces(indent)}"
    number, text = above
    if indent > _indent(text) and (value := _value_of(text)) is not None:
        inner = value[0] - 1 if re.match(r"\s*- ", text) and _KEY.match(text) is None else None
        fits = inner if inner is not None else _content_indent(text)
        if indent == fits:
            return None
        key = _KEY.match(text)
        after = f"below {quoted(key['key'])}, which has a value already" if key else "here"
        return YamlMistake(mark, f"{at} {after}", f"{_spaces(fits)}, as on line {number}")
    if indent > _indent(text):
        return None
    entry = re.match(r"\s*-(\s|$)", line) is not None
    open_indents: dict[int, int] = {}
    least = 1 << 20
    for number, text in error.above(error.at.line):
        if _indent(text) < least:
            least = _indent(text)
            open_indents.setdefault(least, number)
            if _content_indent(text) != least:
                open_indents.setdefault(_content_indent(text), number)
    if indent in open_indents:
        if not entry:
            return None
        found = f"a list entry `- ` beside the field on line {open_indents[indent]}"
        return YamlMistake(mark, found, "either entries or `key: value` lines")
    fitting = sorted(open_indents)
    wanted = " or ".join(f"{each} (line {open_indents[each]})" for each in fitting)
    return YamlMistake(mark, f"{at}, which no line above has", f"an indent of {wanted}")


_CHECKS: tuple[Callable[[_Error], YamlMistake | None], ...] = (
    _tab,
    _odd_space,
    _escape,
    _quote,
    _in_brackets,
    _reserved,
    _second_colon,
    _no_colon,
    _indented_start,
    _indents,
)


def _indent(line: str) -> int:
    return len(line) - len(line.lstrip())


def _content_indent(line: str) -> int:
    """The indent of the fields that begin on a line, behind the hyphens of list entries."""
    lead = re.match(r"\s*(?:-\s+)*", line)
    assert lead is not None  # it may be empty
    return lead.end()


def _value_of(line: str) -> tuple[int, str] | None:
    """The column and text of the value on a line; None where it has none."""
    key = _KEY.match(line)
    start = key.end() if key else _content_indent(line)
    if key is None and start == _indent(line):
        return None
    value = line[start:].strip()
    if not value or value.startswith("#"):
        return None
    return len(line) - len(line[start:].lstrip()) + 1, value


def _in_quotes(text: str) -> str:
    return f'"{text}"' if "'" in text and '"' not in text else "'" + text.replace("'", "''") + "'"


def _spaces(count: int) -> str:
    return f"{count} space" if count == 1 else f"{count} spaces"
