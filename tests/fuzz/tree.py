"""A folder of files that is not on disk yet, with what a disk may hold besides ordinary files."""

import os
import shutil
import stat
from dataclasses import dataclass, field
from enum import Enum
from pathlib import Path


class Special(Enum):
    """What may stand where a file is expected."""

    FOLDER = "folder"
    FIFO = "fifo"
    ENDLESS = "endless device"
    SINK = "device that takes everything"


@dataclass(frozen=True)
class Link:
    """A symbolic link."""

    target: str


Entry = bytes | Special | Link


@dataclass
class Tree:
    """Entries by their path below the folder; bytes that are not UTF-8 stand as surrogates."""

    entries: dict[str, Entry] = field(default_factory=dict)

    def write(self, folder: Path) -> None:
        """Put every entry below a folder; what an entry replaces is removed first."""
        for name, entry in self.entries.items():
            place = folder / name
            place.parent.mkdir(parents=True, exist_ok=True)
            if place.is_symlink() or (place.exists() and not place.is_dir()):
                place.unlink()
            elif place.is_dir() and entry is not Special.FOLDER:
                shutil.rmtree(place)
            _put(entry, place)


def _put(entry: Entry, place: Path) -> None:
    if isinstance(entry, bytes):
        place.write_bytes(entry)
    elif isinstance(entry, Link):
        place.symlink_to(entry.target)
    elif entry is Special.FOLDER:
        place.mkdir(exist_ok=True)
    elif entry is Special.FIFO or os.geteuid() != 0:
        os.mkfifo(place)
    else:
        # A node of our own: whatever the program does to it, those of the system stay whole.
        minor = 5 if entry is Special.ENDLESS else 3
        os.mknod(place, 0o666 | stat.S_IFCHR, os.makedev(1, minor))
