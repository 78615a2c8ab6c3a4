"""Logs as text: CSV and JSON lines with odd cells, headers, rows and sizes."""

import json
from random import Random

from tests.fuzz.inputs import Effect, Input, content, pick_file
from tests.fuzz.values import COMMANDS_OF_A_LOG, DAYS, QUANTITIES, TEXTS

_CELLS = [*TEXTS, *QUANTITIES, *DAYS, "=cmd|' /C calc'!A0", '"', '""', '"a\nb"', "a;b", "[a, b]"]
_HEADERS = [
    "load",
    "date",
    "articles.1.weight [lb]",
    "articles.99.weight [lb]",
    "articles.0.weight",
    "articles.-1.weight",
    "articles.1.weight [stone]",
    "articles.1.weight [lb",
    "articles..weight",
    "trip.speed.x",
    "trip.speeed",
    ".",
    "",
    "trip.places",
    "tiedowns.1.path",
    "__class__",
    "x" * 5_000,
    "\x1b[2J",
    COMMANDS_OF_A_LOG,
    f"a\n{COMMANDS_OF_A_LOG}",
]
_JSON_LINES = [
    "{",
    "[]",
    "3",
    "null",
    '"x"',
    "{}",
    '{"load": 3, "date": []}',
    '{"load": {"x": 1}}',
    '{"load": "a", "load": "b"}',
    '{"a": NaN}',
    '{"a": Infinity}',
    '{"a": 1e999}',
    '{"a": ' + "9" * 5_000 + "}",
    '{"a": "\\ud800"}',
    '{"a": "\\u0000"}',
    '{"a": ' * 3_000 + "1" + "}" * 3_000,
    "[" * 100_000,
    '{"articles": [[[1]]]}',
    '{"articles": {"1": {"weight": "1 lb"}, "01": {"weight": "2 lb"}}}',
    '{"trip.speed": "1 mph", "trip": {"speed": "2 mph"}}',
    '{"\\u001b[2J": 1}',
    "\x1b[2J",
    "{'load': 'a'}",
    '{"load": "profiles/loads/good.yaml", "date": "2026-07-02"} x',
]


def cell(random: Random, given: Input) -> Effect | None:
    """One cell of a CSV is another text, quoted or not."""
    name = pick_file(random, given, ".csv")
    if name is None:
        return None
    lines = content(given, name).decode("utf-8", "replace").split("\n")
    index = random.randrange(len(lines))
    cells = lines[index].split(",")
    said = random.choice(_CELLS)
    cells[random.randrange(len(cells))] = json.dumps(said) if random.random() < 0.3 else said
    lines[index] = ",".join(cells)
    given.tree.entries[name] = "\n".join(lines).encode("utf-8", "surrogatepass")
    return Effect.CHANGES


def column(random: Random, given: Input) -> Effect | None:
    """A header is another one, or a column comes twice, or ten thousand of them."""
    name = pick_file(random, given, ".csv")
    if name is None:
        return None
    header, _, rest = content(given, name).decode("utf-8", "replace").partition("\n")
    names = header.split(",")
    match random.randrange(4):
        case 0:
            names[random.randrange(len(names))] = random.choice(_HEADERS)
        case 1:
            names.append(random.choice([*names, *_HEADERS]))
        case 2:
            random.shuffle(names)
        case _:
            names += [f"trip.x{number}" for number in range(random.choice([200, 10_000]))]
    text = f"{','.join(names)}\n{rest}"
    given.tree.entries[name] = text.encode("utf-8", "surrogatepass")
    return Effect.CHANGES


def rows(random: Random, given: Input) -> Effect | None:
    """Rows too long or too short, blank, open quotes; or the last one again and again."""
    name = pick_file(random, given, ".csv", ".jsonl")
    if name is None:
        return None
    raw = content(given, name).rstrip(b"\n")
    last = raw.rpartition(b"\n")[2]
    bad = b"nothing,2026-07-02,x,b-1,,\n"
    more = [
        b"a\n",
        b",,,,,,,,,,,,,,\n",
        b"\n" * random.choice([3, 20_000]),
        b'"\n',
        b'"' + b"x" * 200_000 + b'"\n',
        (last + b"\n") * random.choice([40, 9_000]),
        bad * random.choice([3, 8_192, 9_000]),
        b";".join(last.split(b",")) + b"\n",
        b"\x00\n",
    ]
    given.tree.entries[name] = raw + b"\n" + random.choice(more)
    return Effect.CHANGES


def json_line(random: Random, given: Input) -> Effect | None:
    """A line that is no haul, among lines that are."""
    name = pick_file(random, given, ".jsonl")
    if name is None:
        return None
    lines = content(given, name).decode("utf-8", "replace").split("\n")
    lines.insert(random.randrange(len(lines)), random.choice(_JSON_LINES))
    given.tree.entries[name] = "\n".join(lines).encode("utf-8", "surrogatepass")
    return Effect.BREAKS


def json_value(random: Random, given: Input) -> Effect | None:
    """One value of one haul is another one."""
    name = pick_file(random, given, ".jsonl")
    if name is None:
        return None
    lines = [line for line in content(given, name).split(b"\n") if line.startswith(b"{")]
    try:
        hauls = [json.loads(line) for line in lines]
        haul = random.choice(hauls)
        key = random.choice([*haul, *_HEADERS])
    except (ValueError, IndexError, RecursionError):
        return None
    others = [3, -1.5, True, None, [], {}, ["US-UT"], {"weight": "5 lb"}, [None], 10**30]
    haul[key] = random.choice([random.choice(_CELLS), random.choice(others)])
    given.tree.entries[name] = "".join(f"{json.dumps(each)}\n" for each in hauls).encode()
    return Effect.CHANGES


MUTATORS = [cell, cell, column, rows, json_line, json_value]
