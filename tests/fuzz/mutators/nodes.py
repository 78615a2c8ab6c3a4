"""Something else where a file is expected: nothing, a folder, a pipe, a device, a link."""

from random import Random

from tests.fuzz.inputs import Effect, Input, pick_file
from tests.fuzz.tree import Link, Special


def replaced(random: Random, given: Input) -> Effect | None:
    """The file is no file any more, or one without a word."""
    name = pick_file(random, given)
    if name is None:
        return None
    entry = random.choice(
        [
            b"",
            b"\n",
            b"# nothing\n",
            b"---\n",
            b" ",
            b"null\n",
            b"[]\n",
            b"{}\n",
            b"kind\n",
            b"\x00" * 4096,
            Special.FOLDER,
            Special.FIFO,
            Special.ENDLESS,
            Special.SINK,
            Link("nowhere"),
            Link(name.rpartition("/")[2]),
            Link("."),
            Link("./" + "../" * name.count("/")),
            Link("x" * 255),
        ]
    )
    given.tree.entries[name] = entry
    # A folder of that name, and a link to one, hold nothing that is not read.
    leads_to_a_folder = isinstance(entry, Link) and entry.target.startswith(".")
    changes = entry is Special.FOLDER or leads_to_a_folder
    return Effect.CHANGES if changes else Effect.BREAKS


def gone(random: Random, given: Input) -> Effect | None:
    """The file is not there."""
    name = pick_file(random, given)
    if name is None:
        return None
    del given.tree.entries[name]
    return Effect.CHANGES


def behind_a_link(random: Random, given: Input) -> Effect | None:
    """The file stands elsewhere, and a link leads to it."""
    name = pick_file(random, given)
    if name is None:
        return None
    given.tree.entries["aside"] = given.tree.entries[name]
    given.tree.entries[name] = Link("../" * name.count("/") + "aside")
    return Effect.KEEPS


def folder_behind_a_link(random: Random, given: Input) -> Effect | None:
    """The folder of the file stands elsewhere, and a link leads to it."""
    name = pick_file(random, given)
    if name is None or "/" not in name:
        return None
    folder = name.rpartition("/")[0]
    for old in [each for each in given.tree.entries if each.startswith(f"{folder}/")]:
        given.tree.entries[f"elsewhere/{old}"] = given.tree.entries.pop(old)
    given.tree.entries[folder] = Link("../" * folder.count("/") + f"elsewhere/{folder}")
    return Effect.KEEPS


def bystander(random: Random, given: Input) -> Effect | None:
    """Beside the file stands one that cannot be read; a call about the folder must not pass it."""
    name = pick_file(random, given, ".yaml")
    if name is None or not any(name.startswith(f"{word}/") for word in given.words):
        return None
    entries = [b"kind: laod\n", b"kind: load\ntitle: [\n", b"", b"\xff\xfe\x00", b"title: x\n"]
    entries += [Special.FIFO, Special.ENDLESS, Link("nowhere")]
    ending = random.choice([".yaml", ".yaml", ".yml", ".YAML", ".Yml"])
    given.tree.entries[f"{name.rpartition('/')[0]}/bystander{ending}"] = random.choice(entries)
    return Effect.BREAKS


def link_loop(random: Random, given: Input) -> Effect | None:
    """A folder leads back to itself."""
    name = pick_file(random, given)
    if name is None or "/" not in name:
        return None
    given.tree.entries[f"{name.rpartition('/')[0]}/round"] = Link(".")
    return Effect.KEEPS


MUTATORS = [replaced, replaced, gone, behind_a_link, folder_behind_a_link, bystander, link_loop]
