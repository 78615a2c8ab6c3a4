"""The program under test where shells, hooks and workflows look for it."""

import os
from collections.abc import Iterator

import pytest

from tests.docs.served_program import ServedProgram, served_program


@pytest.fixture(scope="module")
def program(tmp_path_factory: pytest.TempPathFactory) -> Iterator[ServedProgram]:
    """`cinchbook` as the first of PATH."""
    with (
        served_program(tmp_path_factory.mktemp("bin")) as served,
        pytest.MonkeyPatch.context() as patch,
    ):
        patch.setenv("PATH", str(served.folder), prepend=os.pathsep)
        yield served
