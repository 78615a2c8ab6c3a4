"""The shipped rules, read once."""

import pytest

from checker.rulebooks.model import Rulebooks
from tests.shipped import shipped_rules


@pytest.fixture(scope="session")
def books() -> Rulebooks:
    """The shipped rules, without their proofs."""
    return shipped_rules()
