"""Options and values of the call itself."""

from random import Random

from checker.cli.audit_reports import FORMS as AUDIT_FORMS
from checker.cli.check_reports import FORMS as CHECK_FORMS
from tests.fuzz.inputs import Effect, Input
from tests.fuzz.project import EARLIER, GOOD, HELD, LOGS, MAPPING, SETTINGS
from tests.fuzz.values import COMMANDS_OF_A_LOG, DAYS, QUANTITIES, TEXTS, WORDS

# No value may hold a NUL: no system hands one to a program. Nothing here leads to a place outside
# the folder that a call might write to.
_TEXTS = [
    text
    for text in TEXTS
    if "\x00" not in text and not text.startswith(("/", "..")) and len(text) < 5_000
]
_FILES = [
    "out.txt",
    "new/folder/out.txt",
    "out/",
    "-",
    "",
    HELD,
    SETTINGS,
    "profiles",
    "a\x1b[2Jb",
    COMMANDS_OF_A_LOG,
    "x" * 300,
    "nowhere/" * 60,
    "sink",
    "pipe",
    "link",
]
_RULES = [
    "shipped",
    "placement",
    "crew-rules",
    "policy",
    "us-federal-securement",
    "plcaement",
    "profiles",
    HELD,
    "crew-rules/book.yaml",
    "nowhere",
    ".",
    "pipe",
]
_CHECKED = [*CHECK_FORMS, "x"]
_AUDITED = [*AUDIT_FORMS, "x"]
_REVISIONS = ["HEAD", "HEAD~1", "main", "--output=x", "@{u}", ":/x", "x..y", "v1 v2", "^", ""]

_SHARED = {
    "--on": DAYS,
    "--as": ["text", "json", "json", "JSON", "xml", ""],
    "--units": ["us", "si", "mixed", "profile", "SI", "metric", ""],
    "--rules": _RULES,
    "--profiles": ["profiles", ".", "nowhere", HELD, "", "pipe"],
}
_OWN: dict[str, dict[str, list[str]]] = {
    "check": {
        "--fail-on": ["must", "should", "open", "near", "never"],
        "--changed-since": _REVISIONS,
    },
    "audit": {
        "--columns": [MAPPING, "nowhere.yaml", HELD, "pipe", LOGS[".csv"]],
        "--compare": [EARLIER, "nowhere.json", HELD, "pipe"],
        "--findings": ["out.parquet", "out.jsonl", "out.txt", "sink", HELD, "x" * 300 + ".jsonl"],
    },
    "impact": {
        "--over": [HELD, GOOD, "profiles", *LOGS.values(), "pipe", "nowhere", "**/*.yaml", "["],
        "--against": _REVISIONS,
        "--fail-on": ["worse", "loosened", "never"],
    },
    "place": {"--article": ["0", "1", "2", "99999999999999999999", "x", "-1"]},
    "amend": {
        "--from": DAYS,
        "--until": DAYS,
        "--source": ["crew-handbook", "nobody", ""],
        "--at": _TEXTS,
        "--because": _TEXTS,
        "--by": _TEXTS,
        "--place": WORDS,
        "--into": _FILES,
    },
    "variances": {"--on": DAYS, "--soon": ["0", "30", "-1", "9" * 30, "x"]},
    "calendar": {"--from": DAYS, "--to": DAYS, "--place": WORDS, "--as": ["ics", "json", "x"]},
    "sources": {
        "--read-on": DAYS,
        "--by": _TEXTS,
        "--edition": _TEXTS,
        "--from": DAYS,
        "--read-as": ["text seen", "from memory", "seen", ""],
        "--look-again": DAYS,
        "--into": _FILES,
    },
    "invent": {
        "--hauls": ["0", "1", "30", "-1", "x"],
        "--seed": ["0", "7", "9" * 40],
        "--from": DAYS,
        "--to": DAYS,
        "--over": ["profiles", HELD, "nowhere", "pipe"],
        "--slips": ["0", "1", "99"],
    },
    "history": {"--places": ["US-UT,US-ID", "US", "ut", ",", "", *WORDS]},
}
_SWITCHES = ["--full", "--strict", "--dry-run", "--template", "--force", "--common-practice", "-x"]


def option(random: Random, given: Input) -> Effect | None:
    """One more option, or the same with another value."""
    options = _SHARED | _OWN.get(given.command, {})
    if given.command in ("check", "audit") and random.random() < 0.3:
        forms = _CHECKED if given.command == "check" else _AUDITED
        name, value = "--write", f"{random.choice(forms)}={random.choice(_FILES)}"
    else:
        name = random.choice(list(options))
        pool = options[name] if random.random() < 0.9 else _TEXTS
        value = random.choice(pool)
    given.words += [f"{name}={value}"] if random.random() < 0.2 else [name, value]
    return Effect.CHANGES


def switch(random: Random, given: Input) -> Effect | None:
    """A switch, of this command or another."""
    given.words.append(random.choice(_SWITCHES))
    return Effect.CHANGES


def argument(random: Random, given: Input) -> Effect | None:
    """A word of the call is another one, or one is missing or too many."""
    index = random.randrange(len(given.words))
    pool = [*_TEXTS, *WORDS, *QUANTITIES, *DAYS, *_FILES, "--help", "**/*.yaml", "pipe"]
    match random.randrange(3):
        case 0 if index:
            given.words[index] = random.choice(pool)
        case 1 if index:
            del given.words[index]
        case _:
            given.words.append(random.choice(pool))
    return Effect.CHANGES


MUTATORS = [option, option, option, switch, argument]
