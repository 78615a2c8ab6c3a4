"""Many load profiles to measure with, and a log of invented hauls over them.

The profiles are the bundled ones, again and again with other figures. Run
`python -m tests.benchmarks.many_profiles FOLDER --count 200 --hauls 1000000 --seed 1`; the log's
loads are found from where it was run.
"""

import argparse
import random
import re
from datetime import date
from pathlib import Path

from checker.documents.resources import shipped_folder
from checker.invented.drawing import invent_hauls
from checker.invented.pool import Pool
from checker.invented.writing import write_log
from checker.load.build import read_profile

_EQUIPMENT = ("trailers", "tow-vehicles", "machines")
_REFERENCE = re.compile(rf"\b({'|'.join(_EQUIPMENT)})/([a-z0-9-]+)")
_LOAD = re.compile(r"\b(\w*(?:weight|rating|gvwr|gcwr)): (\d+) lb\b(?!/)")
_RATING = re.compile(r"rating|gvwr|gcwr|largest")
_PLACE = re.compile(r"(placed: \{x:) (\d+) in")
_DISTANCE = re.compile(r"(  distance:) (\d+) mi")
_COMMENT = re.compile(r"^#.*\n| +#.*$", re.MULTILINE)
_TITLE = re.compile(r"^title: .*$", re.MULTILINE)


def write_profiles(folder: Path, count: int, seed: int) -> list[Path]:
    """Write `count` loads and what they refer to under `folder`/profiles; gives the loads' files.

    One fleet after the other has each bundled load and all bundled equipment once, with ratings
    and weights of its own; each load stands a little elsewhere and goes another way. The same
    count and seed give the same bytes.
    """
    draw = random.Random(seed)  # noqa: S311 - figures to measure with
    bundled, root = shipped_folder("profiles"), folder / "profiles"
    loads = _files(bundled / "loads")
    for kind in ("carriers", "gear", "tiedowns"):
        for file in _files(bundled / kind):
            _write(root / kind / file.name, file.read_text(encoding="utf-8"))
    written: list[Path] = []
    for number in range(count):
        place = number % len(loads)
        if place == 0:
            fleet = _Fleet(f"{number // len(loads):03}", draw)
            for kind in _EQUIPMENT:
                for file in _files(bundled / kind):
                    _write(root / kind / f"{file.stem}-{fleet.name}.yaml", fleet.text(file))
        written.append(root / "loads" / f"{loads[place].stem}-{fleet.name}.yaml")
        _write(written[-1], _elsewhere(fleet.text(loads[place]), draw))
    return written


def write_hauls(log: Path, files: list[Path], hauls: int, seed: int) -> None:
    """Write a log of a year's invented hauls over some load profiles."""
    pool = Pool({file.as_posix(): read_profile(file) for file in files})
    write_log(log, invent_hauls(pool, hauls, seed, date(2026, 1, 1), date(2026, 12, 31)))


class _Fleet:
    """Equipment of its own: what it weighs and what it is rated for, beside the bundled one."""

    def __init__(self, name: str, draw: random.Random) -> None:
        self.name = name
        self.heavier, self.stronger = draw.uniform(0.9, 1.05), draw.uniform(0.97, 1.15)

    def text(self, file: Path) -> str:
        """A bundled file as this fleet has it, without the comments, whose sums no longer hold."""
        text = _COMMENT.sub("", file.read_text(encoding="utf-8"))
        text = _TITLE.sub(rf"\g<0>, fleet {self.name}", text, count=1)
        return _REFERENCE.sub(rf"\1/\2-{self.name}", _LOAD.sub(self._scaled, text))

    def _scaled(self, found: re.Match[str]) -> str:
        factor = self.stronger if _RATING.search(found[1]) else self.heavier
        return f"{found[1]}: {int(found[2]) * factor:.0f} lb"


def _elsewhere(text: str, draw: random.Random) -> str:
    """A load that stands up to 3 in further on or back, and goes half to one and a half as far."""
    shift, stretch = draw.randint(-3, 3), draw.uniform(0.5, 1.5)
    text = _PLACE.sub(lambda found: f"{found[1]} {int(found[2]) + shift} in", text)
    return _DISTANCE.sub(lambda found: f"{found[1]} {int(found[2]) * stretch:.0f} mi", text)


def _files(folder: Path) -> list[Path]:
    return sorted(folder.glob("*.yaml"))


def _write(file: Path, text: str) -> None:
    file.parent.mkdir(parents=True, exist_ok=True)
    file.write_text(text, encoding="utf-8", newline="\n")


def main() -> None:
    """Write what the command line asks for."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("folder", type=Path)
    asked.add_argument("--count", type=int, default=200)
    asked.add_argument("--hauls", type=int, help="write hauls.csv as well")
    asked.add_argument("--seed", type=int, default=1)
    given = asked.parse_args()
    files = write_profiles(given.folder, given.count, given.seed)
    print(f"wrote {len(files)} load profiles under {given.folder / 'profiles'}")  # noqa: T201
    if given.hauls:
        write_hauls(given.folder / "hauls.csv", files, given.hauls, given.seed)
        print(f"wrote {given.hauls} hauls to {given.folder / 'hauls.csv'}")  # noqa: T201


if __name__ == "__main__":
    main()
