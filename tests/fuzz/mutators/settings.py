"""Settings that are called otherwise: whoever wrote them believes that they hold."""

from random import Random

from tests.fuzz.inputs import Effect, Input
from tests.fuzz.project import SETTINGS


def called_otherwise(random: Random, given: Input) -> Effect | None:
    """Another ending, another case."""
    if SETTINGS not in given.targets or SETTINGS not in given.tree.entries:
        return None
    others = ["cinchbook.yml", "cinchbook.YAML", "Cinchbook.yaml", ".cinchbook.yaml"]
    given.rename(SETTINGS, random.choice(others))
    return Effect.CHANGES


MUTATORS = [called_otherwise]
