"""Files called otherwise: other endings, and names that no message may print as they are."""

import os
from pathlib import PurePosixPath
from random import Random

from tests.fuzz.inputs import Effect, Input, pick_file
from tests.fuzz.project import GOOD, HAULS, HELD, POLICY
from tests.fuzz.values import COMMANDS_OF_A_LOG

_NAMES = [
    "with space",
    "-dash",
    "--help",
    "[x]",
    "*",
    "?",
    "a,b",
    "a=b",
    "$(true)",
    "%41",
    "~",
    "Grünwald",
    "𝄞",
    "a\u202eb",
    "a\u2028b",
    "a\nb",
    f"a\n{COMMANDS_OF_A_LOG}",
    COMMANDS_OF_A_LOG,
    "a\rb",
    "a\tb",
    "a\x1b[2J",
    "a\x9b2J",
    "a\x07",
    os.fsdecode(b"a\xff"),
    os.fsdecode(b"a\xe9t\xe9"),
    "'",
    '"',
    "[red]x[/red]",
    "x" * 240,
]


def _named_by_itself(name: str) -> bool:
    return name in (GOOD, HELD, POLICY) or name.startswith((f"{HAULS}.", f"{HAULS}/"))


def renamed(random: Random, given: Input) -> Effect | None:
    """A load, log or amendment with an odd name; the call names it where it did before."""
    name = pick_file(random, given)
    if name is None or not _named_by_itself(name):
        return None
    folder, _, old = name.rpartition("/")
    new = random.choice(_NAMES) + old[old.rfind(".") :]
    given.rename(name, f"{folder}/{new}" if folder else new)
    return Effect.KEEPS


def ending(random: Random, given: Input) -> Effect | None:
    """Another ending for the same form."""
    name = pick_file(random, given)
    if name is None or not _named_by_itself(name):
        return None
    start, dot, old = name.rpartition(".")
    others = {"yaml": ["yml", "YAML", "YML", "Yaml"], "jsonl": ["ndjson", "JSONL"]}
    new = random.choice(others.get(old, [old.upper(), old.title()]))
    given.rename(name, f"{start}{dot}{new}")
    # A pattern need not match the new name.
    return Effect.CHANGES if any("*" in word for word in given.words) else Effect.KEEPS


def no_such_ending(random: Random, given: Input) -> Effect | None:
    """An ending of no form at all, or of another one."""
    name = pick_file(random, given)
    if name is None:
        return None
    # A file without an ending, such as one that lost it before, keeps its name.
    start = str(PurePosixPath(name).with_suffix(""))
    new = random.choice(["", ".txt", ".bak", ".yaml~", ".csv", ".json", ".xlsx", ".yaml", ".yml"])
    if any(f"{other}/".startswith(f"{start}{new}/") for other in given.tree.entries):
        return None
    given.rename(name, start + new)
    return Effect.CHANGES


MUTATORS = [renamed, renamed, ending, no_such_ending]
