"""The desk of a safety officer: a small project, the calls of a story, and what they answer."""

import json
import subprocess
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from tests.calling import call

SOURCES = """\
kind: sources
sources:
  - {id: print, title: The Print, issuer: a, edition: first, jurisdiction: US, read_as: text seen,
     look_again: 2026-06-01}
"""
RULES = """\
kind: rulebook
id: basin
title: Basin rules
jurisdiction: US
proved_on: 2020-01-01
rules:
  - id: weight
    title: Trailer of at most {most}
    question: limits
    requires: trailer.gvwr <= most
    thresholds:
      most:
        stricter: lower
        values: [{value: 7000 lb, from: 2020-01-01, source: print, at: p. 1}]
    source: print
    at: p. 1
    basis: law
    level: must
    because: The law of the road.
    fix: Take a trailer of {most} or less.
    proofs:
      - {name: at, given: {trailer.gvwr: 7000 lb}, expect: met, origin: p. 1}
      - {name: over, given: {trailer.gvwr: 7001 lb}, expect: not met, origin: p. 1}
      - {name: under, given: {trailer.gvwr: 6999 lb}, expect: met, origin: p. 1}
      - {name: early, on: 2019-12-31, given: {trailer.gvwr: 1 lb}, expect: not stated, origin: p. 1}
  - id: speed
    title: Trailers go at most {fastest}
    question: trip
    requires: trip.speed <= fastest
    thresholds:
      fastest:
        stricter: lower
        values: [{value: 65 mph, from: 2020-01-01, common_practice: yes}]
    common_practice: yes
    basis: common practice
    level: must
    because: The roads of the basin.
    fix: Plan the trip at {fastest} or less.
    proofs:
      - {name: at, given: {trip.speed: 65 mph}, expect: met, origin: practice}
      - {name: over, given: {trip.speed: 65.01 mph}, expect: not met, origin: practice}
      - {name: under, given: {trip.speed: 64.99 mph}, expect: met, origin: practice}
      - {name: early, on: 2019-12-31, given: {trip.speed: 1 mph}, expect: not stated, origin: none}
"""
PROJECT = {
    "cinchbook.yaml": "kind: settings\nrules: [rules]\namendments: [amendments]\n"
    "profiles: profiles\n",
    "rules/sources.yaml": SOURCES,
    "rules/basin.yaml": RULES,
    "amendments/sources.yaml": SOURCES.replace("print", "utah").replace(
        "jurisdiction: US,", "jurisdiction: US-UT,"
    ),
    # On the flat trailer of 6,800 lb at 60 mph, on the tilt of 6,400 lb at 50 mph.
    "profiles/trailers/flat.yaml": "kind: trailer\ntitle: Flat\ngvwr: 6800 lb\n",
    "profiles/trailers/tilt.yaml": "kind: trailer\ntitle: Tilt\ngvwr: 6400 lb\n",
    "profiles/loads/flat.yaml": "kind: load\ntrailer: trailers/flat\n"
    "trip: {date: 2026-06-01, speed: 60 mph, places: [US-UT]}\n",
    "profiles/loads/tilt.yaml": "kind: load\ntrailer: trailers/tilt\n"
    "trip: {date: 2026-06-01, speed: 50 mph, places: [US-UT]}\n",
}
Entry = tuple[str, str, str, str]
Turned = tuple[str, str, str, str | None, str]


def write(folder: Path, files: Mapping[str, str]) -> None:
    """Write the files of a project, by their paths in it."""
    for name, text in files.items():
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_text(text)


class Desk:
    """A project in a folder, and the calls that an officer makes there."""

    def __init__(self, folder: Path, files: Mapping[str, str] = PROJECT) -> None:
        self.folder = folder
        write(folder, files)

    def run(self, *words: str, code: int = 0) -> str:
        """What a call prints; fails where it ends with another code."""
        done = call(self.folder, *words, COLUMNS="300")
        assert done.returncode == code, done.stdout + done.stderr
        return done.stdout + done.stderr

    def document(self, *words: str, code: int = 0) -> dict[str, Any]:
        """The JSON document that a call prints."""
        done = call(self.folder, *words, "--as", "json")
        assert done.returncode == code, done.stdout + done.stderr
        found: dict[str, Any] = json.loads(done.stdout)
        return found

    def verdict(self, rule: str, load: str, *days: str) -> list[str]:
        """The verdict of a rule on a load on each of the days."""
        found = []
        for day in days:
            words = ("check", f"loads/{load}", "--on", day, "--as", "json", "--full")
            (checked,) = json.loads(call(self.folder, *words).stdout)["loads"]
            found += [each["verdict"] for each in checked["findings"] if each["rule"] == rule]
        return found

    def calendar(self, first: str, last: str, *words: str) -> list[Entry]:
        """Day, kind, id and what holds from then on, up to the first comma, of each entry."""
        found = self.document("calendar", "--from", first, "--to", last, *words)["entries"]
        return [
            (each["day"], each["kind"], each["id"], each["from_then_on"].split(",")[0])
            for each in found
        ]

    def impact(
        self, *words: str, over: str = "profiles/loads", code: int = 0
    ) -> tuple[list[tuple[str, str, str]], list[Turned]]:
        """Effect, kind and id of each difference; load, day, rule and verdicts of what turns."""
        found = self.document("impact", *words, "--over", over, code=code)
        return (
            [(each["effect"], each["kind"], each["id"]) for each in found["differences"]],
            [
                (Path(each["file"]).stem, each["on"], each["rule"], each["before"], each["after"])
                for each in found["verdicts"]
            ],
        )

    def git(self, *words: str) -> None:
        """A git command in the folder, by somebody invented."""
        who = ("-c", "user.name=Ann", "-c", "user.email=ann@basin.example")
        command = ["git", "-C", str(self.folder), *who, *words]
        subprocess.run(command, check=True)

    def commit(self) -> None:
        """All there is as a commit; the first one makes the repository."""
        if not (self.folder / ".git").exists():
            self.git("init", "-q", "-b", "main")
        self.git("add", "-A")
        self.git("commit", "-qm", "a state")
