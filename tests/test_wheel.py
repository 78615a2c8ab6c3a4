"""Rules and profiles are found in a wheel and in an editable install alike."""

import os
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

import checker
from checker.documents.resources import shipped_folder

ROOT = Path(__file__).resolve().parents[1]


def test_an_editable_install_uses_the_checkout() -> None:
    assert Path(checker.__file__).parent == ROOT / "checker"
    assert shipped_folder("rules") == ROOT / "rules"
    assert shipped_folder("profiles") == ROOT / "profiles"


@pytest.fixture(scope="module")
def installed(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the built wheel's files, and nothing of the checkout."""
    folder = tmp_path_factory.mktemp("wheel")
    subprocess.run(
        [sys.executable, "-m", "build", "--wheel", "--no-isolation", "--outdir", folder, ROOT],
        check=True,
        capture_output=True,
    )
    (wheel,) = folder.glob("cinchbook-*.whl")
    with zipfile.ZipFile(wheel) as packed:
        packed.extractall(folder / "site")
    return folder / "site"


def run(installed: Path, *words: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, *words],
        cwd="/",
        env={**os.environ, "PYTHONPATH": str(installed)},
        capture_output=True,
        text=True,
        check=False,
    )


def test_a_wheel_uses_what_it_carries(installed: Path) -> None:
    code = (
        "import checker; from checker.documents.resources import shipped_folder;"
        "print(checker.__file__, shipped_folder('rules'), shipped_folder('profiles'))"
    )
    places = run(installed, "-c", code).stdout.split()
    assert places == [
        str(installed / "checker" / "__init__.py"),
        str(installed / "checker" / "_data" / "rules"),
        str(installed / "checker" / "_data" / "profiles"),
    ]


def test_a_wheel_checks_a_shipped_load_by_name(installed: Path) -> None:
    done = run(installed, "-m", "checker", "check", "loads/side-by-side-in-order", "--full")
    assert done.returncode == 0, done.stderr
    assert "49 CFR part 393, 393.106(d)" in done.stdout


def test_a_wheel_carries_the_schemas_and_no_tests(installed: Path) -> None:
    names = {path.relative_to(installed).as_posix() for path in installed.rglob("*")}
    assert "checker/documents/schemas/profile.json" in names
    assert not any(name.startswith("tests") for name in names)
