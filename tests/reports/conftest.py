"""Runs of checks for reports: bundled loads, a hostile one, an unreadable file; and an audit."""

from collections.abc import Callable
from datetime import date
from functools import cache
from importlib import import_module
from pathlib import Path

import pytest
from msgspec.structs import replace

from checker.cli.chosen_rules import read_rules
from checker.documents.problems import ProblemsFoundError
from checker.documents.resources import shipped_folder
from checker.evaluation.strictness import FailOn
from checker.evaluation.tolerances import check_profile
from checker.load.build import read_profile
from checker.reports.shared.check_results import CheckedLoad, CheckRun, Unreadable
from checker.rulebooks.model import Rulebooks
from checker.units.formatting import US, System
from tests.reports.audits import season

__all__ = ["season"]
HOSTILE = '<script>alert(1)</script> | `a` & "b" **c** ::error:: %0A ]]> \U0001f69c'
Runs = Callable[..., CheckRun]


@pytest.fixture(scope="session")
def rulebooks() -> Rulebooks:
    """All shipped rulebooks."""
    return read_rules(["shipped"])


@pytest.fixture(scope="session")
def bundled(rulebooks: Rulebooks) -> list[CheckedLoad]:
    """Every bundled load judged on one day, without the search for fixes."""
    files = sorted((shipped_folder("profiles") / "loads").glob("*.yaml"))
    checks = [check_profile(read_profile(file), rulebooks, date(2026, 5, 18)) for file in files]
    return [CheckedLoad(check, {}, US) for check in checks]


@pytest.fixture(scope="session")
def unreadable(tmp_path_factory: pytest.TempPathFactory) -> Unreadable:
    """A file with two problems, one of them with a suggestion."""
    file = tmp_path_factory.mktemp("bad") / "bad load.yaml"
    file.write_text("kind: load\ntitle: Bad\ntrailer: {gvwr: 7000, gwr: 1 lb}\narticles: []\n")
    with pytest.raises(ProblemsFoundError, match="gvwr") as found:
        read_profile(file)
    return Unreadable(str(file), found.value.problems)


@pytest.fixture(scope="session")
def runs(bundled: list[CheckedLoad], unreadable: Unreadable) -> Runs:
    """Make a run of all bundled loads and the file that cannot be read, or of some loads."""

    def make(
        fail_on: FailOn = FailOn.MUST, loads: list[CheckedLoad] | None = None, system: System = US
    ) -> CheckRun:
        return CheckRun(
            [replace(each, system=system) for each in (bundled if loads is None else loads)],
            [unreadable] if loads is None else [],
            fail_on,
            0.05,
            "0.0",
        )

    return make


@pytest.fixture(scope="session")
def written(runs: Runs) -> Callable[..., str]:
    """The report of all loads in a form, for a grade, in full or not: written once each."""

    @cache
    def write(form: str, grade: FailOn = FailOn.MUST, *, full: bool = False) -> str:
        made: str = import_module(f"checker.reports.check_forms.{form}").report(
            replace(runs(grade), full=full)
        )
        return made

    return write


@pytest.fixture(scope="session")
def hostile(rulebooks: Rulebooks, tmp_path_factory: pytest.TempPathFactory) -> CheckedLoad:
    """A load whose words try to be markup, a formula and a command at once."""
    folder = tmp_path_factory.mktemp("host, ile")
    file = folder / "a %: b.yaml"
    title = HOSTILE.replace("\\", "\\\\").replace('"', '\\"')
    file.write_text(
        f'kind: load\ntitle: "{title}"\ntrailer: {{title: "=1+1|<b>", gvwr: 2990 lb}}\n'
        "articles: [{weight: 1 lb, title: '<i>x'}]\n",
        encoding="utf-8",
    )
    return CheckedLoad(check_profile(read_profile(file), rulebooks, date(2026, 5, 18)), {}, US)


def named(run: CheckRun, name: str) -> CheckedLoad:
    """The bundled load of that file."""
    return next(each for each in run.checked if Path(each.check.load.file).stem == name)
