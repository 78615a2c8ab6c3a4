"""Fixtures that several tests of the season share."""

from collections.abc import Iterator

import pytest

from checker.documents.resources import shipped_folder
from tests.benchmarks.many_profiles import write_profiles


@pytest.fixture(scope="session", autouse=True)
def _fleets(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    """The bundled loads with the figures of two other fleets, where other processes find them."""
    folder = tmp_path_factory.mktemp("fleets")
    write_profiles(folder, 2 * len(list((shipped_folder("profiles") / "loads").glob("*.yaml"))), 3)
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("FLEETS_OF_TESTS", str(folder))
        yield
