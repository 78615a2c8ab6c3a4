"""Makes output harmless, whatever text of files and options is in it.

All output of a run passes through here: `guarded_output` replaces standard output and standard
error, and `console` makes the console for rich.
"""

import codecs
import sys
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any, Final, TextIO

from checker.documents.escaping import escape_commands, escape_letters, escape_lines

if TYPE_CHECKING:
    from rich.console import Console

_HANDLER: Final = "cinchbook-escapes"


class _Guard:
    """A text stream that escapes everything a terminal or CI server would obey."""

    def __init__(self, stream: TextIO) -> None:
        self.stream = stream
        self._at_start = True

    def write(self, text: str) -> int:
        """Write the text escaped; returns its length as streams do."""
        shown, self._at_start = escape_lines(text, at_start=self._at_start)
        self.stream.write(shown)
        return len(text)

    def writelines(self, lines: Iterable[str]) -> None:
        """Write each."""
        for line in lines:
            self.write(line)

    def __getattr__(self, name: str) -> Any:
        # Writing to the underlying byte stream would bypass the guard.
        if name == "buffer":
            raise AttributeError(name)
        return getattr(self.stream, name)


@contextmanager
def guarded_output() -> Iterator[None]:
    """Standard output and standard error, guarded; letters the encoding lacks are escaped."""
    codecs.register_error(_HANDLER, _escape_unwritable)
    before = sys.stdout, sys.stderr
    for stream in before:
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors=_HANDLER)
    streams: Any = [each and _Guard(each) for each in before]
    sys.stdout, sys.stderr = streams
    try:
        yield
    finally:
        sys.stdout, sys.stderr = before


def _escape_unwritable(error: UnicodeError) -> tuple[str, int]:
    """An escape for each letter that an encoding lacks, as JSON writes it."""
    if not isinstance(error, UnicodeEncodeError):
        raise error
    return escape_letters(error.object[error.start : error.end]), error.end


def print_own(text: str) -> None:
    """Print lines with our own CI commands; nothing else in them acts."""
    raw = _raw(sys.stdout)
    if raw is not None:
        raw.write("".join(map(escape_commands, text.splitlines(keepends=True))))
        raw.flush()


def print_bytes(content: bytes) -> None:
    """Print a binary file."""
    raw = _raw(sys.stdout)
    if raw is not None:
        raw.flush()
        raw.buffer.write(content)
        raw.buffer.flush()


def _raw(stream: TextIO | _Guard | None) -> TextIO | None:
    return stream.stream if isinstance(stream, _Guard) else stream


def console(*, stderr: bool = False) -> "Console":
    """A console for rich: rich's colours and cursor moves act, and nothing of the text does."""
    from rich.console import Console, ConsoleOptions, RenderResult
    from rich.segment import Segment

    class Harmless:
        """Something to print, with each part of its text escaped."""

        def __init__(self, content: Any) -> None:
            self.content = content

        def __rich_console__(self, on: Console, options: ConsoleOptions) -> RenderResult:
            at_start = True
            for segment in on.render(self.content, options):
                if segment.control:
                    yield segment
                    continue
                shown, at_start = escape_lines(segment.text, at_start=at_start)
                yield Segment(shown, segment.style)

    class Hook:
        """Wraps everything that is printed in `Harmless`."""

        def process_renderables(self, renderables: list[Any]) -> list[Any]:
            return [Harmless(each) for each in renderables]

    stream = _raw(sys.stderr if stderr else sys.stdout)
    made = Console(
        file=stream, stderr=stderr, highlight=False, markup=False, emoji=False, soft_wrap=False
    )
    made.push_render_hook(Hook())  # type: ignore[arg-type]
    return made
