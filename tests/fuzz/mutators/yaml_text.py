"""YAML written in other ways, or broken: what a hand, an editor or an attacker makes of a file."""

import re
from random import Random

from tests.fuzz.inputs import Effect, Input, content, pick_file
from tests.fuzz.values import COMMANDS_OF_A_LOG, TEXTS

_KIND = re.compile(r"^kind: *(\S+)$", re.MULTILINE)


def _text(random: Random, given: Input) -> tuple[str, str] | None:
    name = pick_file(random, given, ".yaml")
    return None if name is None else (name, content(given, name).decode("utf-8", "replace"))


def _put(given: Input, name: str, text: str) -> None:
    given.tree.entries[name] = text.encode("utf-8", "surrogatepass")


def kind_misspelt(random: Random, given: Input) -> Effect | None:
    """The kind, or the word kind itself, is another one."""
    if (found := _text(random, given)) is None:
        return None
    name, text = found
    if (kind := _KIND.search(text)) is None:
        return None
    word = kind[1]
    lines = [
        f"kind: {word[:1]}{word[2:3]}{word[1:2]}{word[3:]}",
        f"kind: {word}s",
        f"kind: {word.upper()}",
        f"Kind: {word}",
        f"knid: {word}",
        f"kind; {word}",
        f"kind={word}",
        f"kind:{word}",
        f"kind: [{word}]",
        f"kind:\n  - {word}",
        f"kind: {{{word}: {word}}}",
        "kind:",
        "kind: ~",
        "kind: 3",
        f"kind: {word}\u200b",
        f"\u200bkind: {word}",
        f"kind: {word} x",
        f"# kind: {word}",
        f"kind: {word}\nkind: {word}",
        "",
    ]
    _put(given, name, _KIND.sub(lambda _: random.choice(lines), text, count=1))
    return Effect.BREAKS


def kind_in_another_way(random: Random, given: Input) -> Effect | None:
    """The kind is the same to whoever reads YAML."""
    if (found := _text(random, given)) is None:
        return None
    name, text = found
    if (kind := _KIND.search(text)) is None:
        return None
    word = kind[1]
    lines = [
        f'"kind": {word}',
        f"'kind': {word}",
        f"kind : {word}",
        f"kind:   {word}   ",
        f"kind: '{word}'",
        f'kind: "{word}" # which',
        f"kind:\n  {word}",
        f"kind:\n\n  # which\n  {word}",
        f"kind: >-\n  {word}",
        f"kind: |-\n  {word}",
        f"? kind\n: {word}",
        f"kind: &k {word}",
        f'"\\x6bind": {word}',
        f'kind: "\\x{ord(word[0]):02x}{word[1:]}"',
    ]
    rest = _KIND.sub("", text, count=1)
    line = random.choice(lines)
    # At the top, where it was, or after everything else.
    whole = [f"{line}\n{rest}", text.replace(kind[0], line, 1), f"{rest.rstrip()}\n{line}\n"]
    _put(given, name, random.choice(whole))
    return Effect.KEEPS


def surroundings(random: Random, given: Input) -> Effect | None:
    """Marks of YAML around the document, blank lines, comments and indents."""
    if (found := _text(random, given)) is None:
        return None
    name, text = found
    indented = "".join(f"  {line}\n" if line else "\n" for line in text.split("\n"))
    ways = [
        f"---\n{text}",
        f"%YAML 1.2\n---\n{text}",
        f"%YAML 1.1\n---\n{text}",
        f"{text}\n...\n",
        f"{text}\n---\n",
        f"--- # first\n{text}\n...\n# end\n",
        f"\n\n\n{text}\n\n\n",
        indented,
        f"# {COMMANDS_OF_A_LOG}\n{text}",
        f"# kind: other\n{text}",
    ]
    _put(given, name, random.choice(ways))
    return Effect.KEEPS


def broken(random: Random, given: Input) -> Effect | None:
    """Lines at the top level that no document of ours may have."""
    if (found := _text(random, given)) is None:
        return None
    name, text = found
    bomb = ", ".join(["*a"] * 9)
    deep = random.choice([30, 60, 2_000])
    lines = [
        "]: [",
        "title: 'x",
        'title: "x',
        "note: [",
        "note: }",
        "\tnote: x",
        "note: *nobody",
        "note: !!python/object/apply:os.system [true]",
        "note: !x y",
        "<<: {a: b}",
        "<<: *nobody",
        "fuzzed: 3",
        "? [a, b]\n: c",
        "note: " + "[" * deep + "]" * deep,
        "note: " + "{a: " * deep + "b" + "}" * deep,
        "note:\n" + "".join(" " * level + "a:\n" for level in range(2, deep)),
        "n0: &a [x, x, x, x, x, x, x, x, x]\n"
        + "".join(f"n{n + 1}: &a [{bomb}]\n" for n in range(9)),
        "n0: &a {x: y}\n"
        + "".join(f"n{n + 1}: &a {{<<: [{bomb}], k{n}: {{<<: *a}}}}\n" for n in range(9)),
        "note: &a [*a]",
        "---\nkind: load\n",
        "x" * 70_000,
        "x" * 70_000 + ": y",
        "\n".join(f"fuzzed{n}: x" for n in range(random.choice([300, 3_000, 60_000]))),
        "- a",
        "a b c",
        "{}",
    ]
    _put(given, name, f"{text.rstrip()}\n{random.choice(lines)}\n")
    return Effect.BREAKS


def line_doubled(random: Random, given: Input) -> Effect | None:
    """A key at the top stands twice."""
    if (found := _text(random, given)) is None:
        return None
    name, text = found
    keys = re.findall(r"^\w[^\n]*: .+$", text, re.MULTILINE)
    if not keys:
        return None
    _put(given, name, f"{text.rstrip()}\n{random.choice(keys)}\n")
    return Effect.BREAKS


def lines_moved(random: Random, given: Input) -> Effect | None:
    """Lines dropped, doubled, moved or indented otherwise."""
    if (found := _text(random, given)) is None:
        return None
    name, text = found
    lines = text.split("\n")
    for _ in range(random.choice([1, 1, 2, 4])):
        index = random.randrange(len(lines))
        match random.randrange(4):
            case 0:
                lines[index : index + 1] = []
            case 1:
                lines.insert(index, random.choice(lines))
            case 2:
                lines.insert(random.randrange(len(lines)), lines.pop(index))
            case _:
                lines[index] = random.choice(["  ", " ", "\t", "- "]) + lines[index].lstrip()
        lines = lines or [""]
    _put(given, name, "\n".join(lines))
    return Effect.CHANGES


def title(random: Random, given: Input) -> Effect | None:
    """A title that a terminal, a log, a page or a table would take for more than text."""
    if (found := _text(random, given)) is None:
        return None
    name, text = found
    if not re.search(r"^title: .*$", text, re.MULTILINE):
        return None
    said = random.choice(TEXTS) + random.choice(["", " x"])
    escaped = "".join(
        letter if letter.isprintable() and letter not in '"\\' else f"\\U{ord(letter):08x}"
        for letter in said
    )
    line = f'title: "{escaped}"'
    _put(given, name, re.sub(r"^title: .*$", lambda _: line, text, count=1, flags=re.MULTILINE))
    return Effect.KEEPS


MUTATORS = [
    kind_misspelt,
    kind_in_another_way,
    surroundings,
    broken,
    line_doubled,
    lines_moved,
    title,
]
