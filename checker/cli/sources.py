"""`cinchbook sources`: the documents behind the rules, and notes that one was read again."""

from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from checker.cli.chosen_rules import read_rules
from checker.cli.options import (
    Format,
    FormatOption,
    RulesOption,
    end_with,
    parse_day,
    print_json,
    settings,
)
from checker.cli.output import console
from checker.cli.rule_file_edit import edit_rule_file

if TYPE_CHECKING:
    from checker.rulebooks.model import Rulebooks
    from checker.upkeep.rereading import NotedReading

_FILE = "sources.yaml"


def run(
    source: Annotated[
        str | None, typer.Argument(metavar="ID", help="Id of a document. Default: all of them.")
    ] = None,
    rules: RulesOption = None,
    on: Annotated[
        str | None,
        typer.Option(
            "--on", metavar="DATE", help="Day for editions and what is overdue. Default: today."
        ),
    ] = None,
    form: FormatOption = Format.TEXT,
    read_on: Annotated[
        str | None,
        typer.Option("--read-on", metavar="DATE", help="Note that it was read again on this day."),
    ] = None,
    by: Annotated[
        str | None, typer.Option("--by", metavar="NAME", help="Name of the person who read it.")
    ] = None,
    edition: Annotated[
        str | None,
        typer.Option(
            "--edition",
            metavar="TEXT",
            help="The new edition that was read, with the same figures. Default: it is unchanged.",
        ),
    ] = None,
    starts: Annotated[
        str | None, typer.Option("--from", metavar="DATE", help="First day of the new edition.")
    ] = None,
    read_as: Annotated[
        str | None,
        typer.Option(
            "--read-as",
            metavar="HOW",
            help="How it was read, such as 'text seen' or 'secondary copy'. Default: as before.",
        ),
    ] = None,
    look_again: Annotated[
        str | None,
        typer.Option(
            "--look-again", metavar="DATE", help="When to read it again. Default: after 365 days."
        ),
    ] = None,
    note: Annotated[
        str | None, typer.Option("--note", metavar="TEXT", help="Limits of what was read.")
    ] = None,
    into: Annotated[
        Path | None,
        typer.Option(
            "--into",
            metavar="FILE",
            help="Sources file for the note. Default: sources.yaml in the first folder of "
            "amendments in cinchbook.yaml.",
        ),
    ] = None,
) -> None:
    """List documents: edition, how and when each was read, what rests on it, what is overdue.

    With --read-on it notes that a document was read again, in a file of your own: unchanged, or
    with --edition and --from in a new edition that has the same figures. A figure that the new
    edition changes is an amendment (cinchbook amend).

    Example: cinchbook sources cfr-49-393

    Example: cinchbook sources cfr-49-393 --read-on 2026-11-30 --by "M. Quill"

    Exit codes: 0 printed, or noted; 2 refused, nothing written.
    """
    from checker.reports.pages.sources import documents_json, print_document, print_documents
    from checker.upkeep.rereading import CannotNoteError, NotedReading, source_named
    from checker.upkeep.sources import documents

    books = read_rules(rules)
    day = parse_day(on) if on else date.today()
    try:
        chosen = None if source is None else source_named(books, source)
        if read_on is not None:
            if source is None or by is None:
                end_with("found --read-on without ID or --by; wanted the document and a name")
            if (edition is None) != (starts is None):
                end_with("found one of --edition and --from; wanted both, or none if unchanged")
            noted = NotedReading(
                read_on=_day_before_tomorrow(read_on),
                by=by,
                edition=edition,
                starts=parse_day(starts) if starts else None,
                read_as=read_as,
                look_again=parse_day(look_again) if look_again else None,
                note=note,
            )
            books = _note(noted, source, books, _file(into), rules, form)
            if form is Format.TEXT:
                return
    except CannotNoteError as error:
        end_with(str(error))
    if read_on is None and any((by, edition, starts, read_as, look_again, note, into)):
        end_with("found what to note of a reading, but no --read-on; wanted the day it was read")
    found = documents(books, day)
    if chosen is None:
        own = books.own_sources
        found = [each for each in found if each.dependants or each.source.id in own]
    else:
        found = [each for each in found if each.source.id == chosen.id]
    if form is Format.JSON:
        print_json(documents_json(found, day))
    elif chosen is None:
        print_documents(found, day, console())
    else:
        print_document(found[0], day, console())


def _day_before_tomorrow(text: str) -> date:
    day = parse_day(text)
    if day > date.today():
        end_with(f"found a reading on {day}, which is still to come; wanted a day up to today")
    return day


def _file(into: Path | None) -> Path:
    """The path of the sources file."""
    if into is not None:
        return into
    folders = [Path(name) for name in settings().amendments if Path(name).is_dir()]
    if not folders:
        end_with(
            "found no file for the note; wanted --into FILE, or a folder under `amendments` in "
            "cinchbook.yaml"
        )
    return folders[0] / _FILE


def _note(
    noted: "NotedReading",
    source_id: str,
    books: "Rulebooks",
    file: Path,
    rules: list[str] | None,
    form: Format,
) -> "Rulebooks":
    """The rulebooks with the reading; what is written is printed beside a document."""
    from checker.upkeep.rereading import NEW_FILE, reading_lines, text_with_reading

    lines = reading_lines(noted, books.sources[source_id], books)

    def edit(old: str | None) -> str:
        return text_with_reading(old or NEW_FILE, lines, str(file))

    return edit_rule_file(file, "sources", edit, rules, aside=form is not Format.TEXT)
