"""Small profiles and rulebooks written by tests, and hypothesis settings for CI."""

import gc
import os
import signal
import sys
import textwrap
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from hypothesis import settings

from checker.load.build import read_load
from checker.load.model import Load
from checker.rulebooks.loading import load_rulebooks
from checker.rulebooks.model import Rulebooks

# Where tests are begun in the background of a script, Ctrl-C is ignored, in all they begin too.
signal.signal(signal.SIGINT, signal.default_int_handler)

# Bytecode is kept, as where the program is installed, also where a shell is set to keep none:
# compiling it anew takes each program that a test starts longer than all that it then does.
sys.dont_write_bytecode = False
os.environ.pop("PYTHONDONTWRITEBYTECODE", None)

# As in the program: little that is made is garbage, and looking for it takes a tenth of the time.
gc.set_threshold(100_000, 20, 20)

settings.register_profile("ci", deadline=None, derandomize=True)
settings.load_profile("ci")

SOURCES = """
kind: sources
sources:
  - {id: print, title: The Print, issuer: a test, edition: first, jurisdiction: any,
     read_as: text seen, look_again: 2030-01-01}
"""


def pytest_sessionfinish() -> None:
    """Look once for garbage that complains when it is freed.

    Pytest looks ten times more, each time at all that is left: a million objects.
    """
    gc.collect()
    gc.freeze()


@pytest.fixture(autouse=True, scope="session")
def cache_of_its_own(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    """Where runs keep what they have read and done: not among what the user's own runs keep."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("XDG_CACHE_HOME", str(tmp_path_factory.mktemp("cache")))
        yield


@pytest.fixture
def profile(tmp_path: Path) -> Callable[[str], Load]:
    """Read a load profile given as text."""

    def read(text: str) -> Load:
        file = tmp_path / "load.yaml"
        file.write_text(textwrap.dedent(text))
        return read_load(file)

    return read


@pytest.fixture
def rulebook(tmp_path: Path) -> Callable[[str], Rulebooks]:
    """Read a rulebook whose `rules:` list is given as text, with one source called `print`."""

    def read(rules: str, head: str = "") -> Rulebooks:
        folder = tmp_path / "rules"
        folder.mkdir(exist_ok=True)
        (folder / "sources.yaml").write_text(SOURCES)
        top = "kind: rulebook\nid: book\ntitle: A book\njurisdiction: any\nproved_on: 2026-01-01\n"
        (folder / "book.yaml").write_text(
            top + textwrap.dedent(head) + "rules:\n" + textwrap.indent(textwrap.dedent(rules), "  ")
        )
        return load_rulebooks(folder, with_proofs=True)

    return read
