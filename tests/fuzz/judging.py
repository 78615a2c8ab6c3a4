"""What is wrong with how a call ended."""

import json
import re
from collections.abc import Iterator
from typing import NamedTuple

from ruamel.yaml import YAML
from ruamel.yaml.error import YAMLError

from checker.documents.schemas import families
from tests.fuzz import project
from tests.fuzz.inputs import Effect, Input
from tests.fuzz.running import Result
from tests.fuzz.scenarios import DOCUMENTED
from tests.fuzz.seeding import allowed_codes
from tests.fuzz.values import COMMANDS_OF_A_LOG

MOST_SECONDS = 10.0
SECONDS_OF_A_SEARCH = 25.0
"""Where there is no arrangement, ten more are for what would give one."""
MOST_MEGABYTES = 500.0

# A line end is none; a tab only indents. The rest moves the cursor, colours, or turns text round.
_ACTS = re.compile(
    "[\x00-\x08\x0b-\x1f\x7f-\x9f\u061c\u200e\u200f\u2028\u2029\u202a-\u202e\u2066-\u2069]"
)
_FRAME = re.compile(r'File "[^"]*/checker/([^"]+)", line \d+, in (\S+)')
_OWN_COMMAND = re.compile(r"::(error|warning|notice) (file|title)=")


class Fault(NamedTuple):
    """One thing that is wrong; faults of one `sort` are likely to have one cause."""

    sort: str
    what: str


def faults(given: Input, result: Result) -> Iterator[Fault]:
    """Everything that is wrong with how a call ended."""
    yield from _tracebacks(result)
    documented = DOCUMENTED.get(given.command, frozenset({0, 2}))
    names = ", ".join(name for name, _ in given.mutations)
    if result.code not in documented:
        yield Fault(f"exit code {result.code}", f"documented are {sorted(documented)}")
    elif result.code not in (allowed := allowed_codes(given, documented)):
        sort = "WRONG PASS" if result.code == 0 else f"exit code {result.code}"
        wanted = f"one of {sorted(allowed)} after {names}"
        yield Fault(f"{sort}: {given.command}, {names}", f"found {result.code}; wanted {wanted}")
    elif result.code != 2 and (unread := unread_files(given)):
        yield Fault(f"WRONG PASS: {given.command}, unread files", f"not read: {unread!r}")
    if result.code == 2 and result.wrote_load:
        yield Fault(f"written: {given.command}, {names}", "found a new load after a refusal")
    if result.seconds > (SECONDS_OF_A_SEARCH if given.command == "arrange" else MOST_SECONDS):
        yield Fault(f"slow: {given.command}", f"{result.seconds:.1f} s of the processor")
    if result.megabytes > MOST_MEGABYTES:
        yield Fault(f"large: {given.command}", f"{result.megabytes:.0f} MB")
    yield from _texts(given, result)
    yield from _json(given, result)


def _tracebacks(result: Result) -> Iterator[Fault]:
    last = ""
    if result.fault:
        last = result.fault.strip().split("\n")[-1]
        frames = _FRAME.findall(result.fault)
        where = f"{frames[-1][0]} {frames[-1][1]}" if frames else "?"
    if b"error in the program" in result.err or result.code is None:
        yield Fault(f"traceback: {where}: {last.partition(':')[0]}", result.fault)
    elif b"Traceback (most recent" in result.err + result.out:
        yield Fault("traceback printed", "")


def _texts(given: Input, result: Result) -> Iterator[Fault]:
    annotated = any("annotations" in word for word in given.words)
    # A workbook is no text, wherever it goes.
    out = b"" if result.out.startswith(b"PK") else result.out
    for name, raw in (("standard output", out), ("standard error", result.err)):
        text = raw.decode("utf-8", "replace").replace("\r\n", "\n")
        if found := _ACTS.search(text):
            around = text[max(0, found.start() - 60) : found.end() + 20]
            yield Fault(f"control characters: {given.command}, {name}", repr(around))
        for line in text.split("\n"):
            start = line.lstrip()
            if start.startswith("::") and not (annotated and _OWN_COMMAND.match(start)):
                yield Fault(f"log command: {given.command}, {name}", repr(line))
                break
    if COMMANDS_OF_A_LOG.encode() in result.out and annotated and b"\n::stop" in result.out:
        yield Fault("log command in annotations", "")


def _json(given: Input, result: Result) -> Iterator[Fault]:
    """Faults of a document that was asked for on standard output."""
    asked = ("--as", "json") in zip(given.words, given.words[1:], strict=False)
    other = sum(word.startswith("--as") for word in given.words) > 1 or "--help" in given.words
    other |= any("=-" in word for word in given.words)
    if not asked or other or result.code not in (0, 1, 3):
        return
    try:
        document = json.loads(result.out)
    except ValueError as error:
        yield Fault(f"no JSON: {given.command}", str(error))
        return
    kept = all(effect is Effect.KEEPS for _, effect in given.mutations)
    if given.command == "audit" and kept and document["read"] != project.ROWS:
        yield Fault("WRONG PASS: audit, lost rows", f"read {document['read']} of {project.ROWS}")


def unread_files(given: Input) -> list[str]:
    """Files in a folder that is checked which nobody can take for a document of a known kind.

    That is looked up without the program's own reader: no YAML, without a kind, or of none that
    there is.
    """
    if given.command != "check" or "--changed-since" in given.words or "--help" in given.words:
        return []
    folders = [
        f"{word}/" for word in given.words[1:] if word == "profiles" or word == "profiles/loads"
    ]
    if not folders or "--profiles" in given.words:
        return []
    return [
        name
        for name, entry in given.tree.entries.items()
        if name.startswith(tuple(folders))
        and name.lower().endswith((".yaml", ".yml"))
        and isinstance(entry, bytes)
        and not _has_a_kind(entry)
    ]


def _has_a_kind(raw: bytes) -> bool:
    try:
        data = YAML(typ="safe").load(raw)
    except (YAMLError, ValueError):
        return False
    kind = data.get("kind") if isinstance(data, dict) else None
    return isinstance(kind, str) and kind in families()
