"""The same text in other bytes, and bytes that are no text."""

from random import Random

from tests.fuzz.inputs import Effect, Input, content, pick_file

_TEXTS = (".yaml", ".csv", ".jsonl", ".json")


def other_encoding(random: Random, given: Input) -> Effect | None:
    """UTF-16 or UTF-32, with and without a mark, or a single-byte code."""
    name = pick_file(random, given, *_TEXTS)
    if name is None:
        return None
    code = random.choice(["utf-16", "utf-16-le", "utf-16-be", "utf-32", "utf-7", "cp037"])
    text = content(given, name).decode("utf-8", "ignore")
    given.tree.entries[name] = text.encode(code, "ignore")
    # Without high letters UTF-7 is the same text.
    return Effect.KEEPS


def byte_order_mark(random: Random, given: Input) -> Effect | None:
    """One mark, which is allowed, or two, or one somewhere else."""
    name = pick_file(random, given, *_TEXTS)
    if name is None:
        return None
    mark = b"\xef\xbb\xbf"
    raw = content(given, name)
    number = random.choice([1, 1, 2])
    if random.random() < 0.3:
        place = random.randrange(len(raw) + 1)
        given.tree.entries[name] = raw[:place] + mark + raw[place:]
        return Effect.CHANGES
    given.tree.entries[name] = mark * number + raw
    return Effect.KEEPS


def line_ends(random: Random, given: Input) -> Effect | None:
    """CR alone, CRLF, or others that some readers take for line ends."""
    name = pick_file(random, given, *_TEXTS)
    if name is None:
        return None
    end = random.choice([b"\r", b"\r", b"\r\n", b"\n\r", b"\xe2\x80\xa8", b"\xc2\x85", b"\x0b"])
    given.tree.entries[name] = content(given, name).replace(b"\n", end)
    return Effect.KEEPS


def no_text(random: Random, given: Input) -> Effect | None:
    """Bytes that are not UTF-8 or no characters, on a line of their own at the start or the end."""
    name = pick_file(random, given, ".yaml", ".json")
    if name is None:
        return None
    lead = b"# " if name.endswith(".yaml") else b""
    bytes_ = [b"\xff", b"\xed\xa0\x80", b"\xc0\xaf", b"\xf5\x80\x80\x80", b"\x00", b"\x1b[2J"]
    line = lead + random.choice(bytes_) + b"\n"
    raw = content(given, name)
    given.tree.entries[name] = line + raw if random.random() < 0.5 else raw + b"\n" + line
    return Effect.BREAKS


def flipped(random: Random, given: Input) -> Effect | None:
    """Some bits turned round."""
    name = pick_file(random, given)
    if name is None:
        return None
    raw = bytearray(content(given, name))
    for _ in range(random.choice([1, 1, 2, 5, 40])):
        if raw:
            raw[random.randrange(len(raw))] ^= 1 << random.randrange(8)
    given.tree.entries[name] = bytes(raw)
    return Effect.CHANGES


def cut(random: Random, given: Input) -> Effect | None:
    """The end, the start or a piece of the middle is missing; or a piece stands twice."""
    name = pick_file(random, given)
    if name is None:
        return None
    raw = content(given, name)
    first, last = sorted(random.randrange(len(raw) + 1) for _ in range(2))
    pieces = [raw[:first], raw[last:], raw[:first] + raw[last:], raw[:last] + raw[first:]]
    given.tree.entries[name] = random.choice(pieces)
    return Effect.CHANGES


def padded(random: Random, given: Input) -> Effect | None:
    """More bytes than a document may have, or lines longer than any, all of them comments."""
    name = pick_file(random, given, ".yaml")
    if name is None:
        return None
    line = random.choice([b"# x\n", b"#" + b" " * 300_000 + b"\n"])
    number = random.choice([300_000, 2_500_000]) // len(line) + 1
    given.tree.entries[name] = line * number + content(given, name)
    return Effect.KEEPS


MUTATORS = [other_encoding, byte_order_mark, line_ends, no_text, flipped, cut, padded]
