"""One whole number gives one input: a folder, a call, and what the call may end with."""

from collections.abc import Callable
from dataclasses import dataclass, field
from enum import IntEnum
from random import Random

from tests.fuzz.tree import Tree


class Effect(IntEnum):
    """What a mutation does to what the files state."""

    KEEPS = 0
    """They state the same, if they are read at all."""
    BREAKS = 1
    """A file that the call needs cannot be read as meant any more."""
    REMOVES = 2
    """A profile states less."""
    CHANGES = 3
    """Something else is stated or asked."""


@dataclass
class Input:
    """A folder and a call in it.

    `targets` are files that the call needs to read, `outcome` is its exit code before mutations.
    What stood in the folder when it was committed is `committed`, for calls about revisions.
    """

    seed: int
    tree: Tree
    words: list[str]
    targets: list[str]
    outcome: int
    committed: Tree | None = None
    width: int = 100
    mutations: list[tuple[str, Effect]] = field(default_factory=list)
    git: list[list[str]] = field(default_factory=list)

    @property
    def command(self) -> str:
        """The command that is called."""
        return self.words[0] if self.words else ""

    def rename(self, old: str, new: str) -> None:
        """Call a file something else, in the folder and in the call."""
        self.tree.entries[new] = self.tree.entries.pop(old)
        self.targets = [new if name == old else name for name in self.targets]
        self.words = [word.replace(old, new) for word in self.words]


Mutator = Callable[[Random, Input], Effect | None]
"""Changes an input in place and returns what that does; None where it does not fit the input."""


def pick_file(random: Random, given: Input, *endings: str) -> str | None:
    """One of the files the call needs that has content, and one of these endings where stated."""
    files = [
        name
        for name in given.targets
        if isinstance(given.tree.entries.get(name), bytes)
        and (not endings or name.endswith(endings))
    ]
    return random.choice(files) if files else None


def content(given: Input, name: str) -> bytes:
    """The bytes of a file that `pick_file` gave."""
    raw = given.tree.entries[name]
    assert isinstance(raw, bytes)
    return raw
