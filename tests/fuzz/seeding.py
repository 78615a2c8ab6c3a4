"""From a whole number to an input."""

from copy import deepcopy
from functools import cache
from random import Random

from tests.fuzz import project
from tests.fuzz.inputs import Effect, Input
from tests.fuzz.mutators import FAMILIES
from tests.fuzz.scenarios import SCENARIOS, Scenario
from tests.fuzz.tree import Link, Special, Tree

_WEIGHTS = {"structure": 9, "yaml_text": 7, "encodings": 5, "calls": 5, "nodes": 4, "names": 4}
_WEIGHTS |= {"tables": 4, "workbooks": 3, "parquet": 2, "git": 3, "settings": 1}
_TRIES = 30
"""So many mutators may decline in a row; then the input stays as it is."""


def base_input(scenario: Scenario, earlier: bytes) -> Input:
    """The call of a scenario on the project as it stands. `earlier` is an audit of its log."""
    entries = project.base_files() | {project.EARLIER: earlier}
    if scenario.policy:
        entries |= project.policy()
    tree = Tree(dict(entries))
    tree.entries |= {"pipe": Special.FIFO, "sink": Special.SINK, "link": Link("sink")}
    committed = None
    if scenario.committed:
        committed = deepcopy(tree)
        committed.entries[project.HELD] = entries[project.HELD].replace(b"55 mph", b"54 mph")
    return Input(
        seed=0,
        tree=tree,
        words=list(scenario.words),
        targets=list(scenario.targets),
        outcome=scenario.outcome,
        committed=committed,
    )


@cache
def _scenario_weights() -> list[int]:
    return [scenario.weight for scenario in SCENARIOS]


def input_of(seed: int, earlier: bytes) -> Input:
    """The input of a seed: a scenario, and one mutation or a few.

    Seeds below zero give the scenarios as they are, -1 the first of them.
    """
    if seed < 0:
        given = base_input(SCENARIOS[-1 - seed], earlier)
        given.seed = seed
        return given
    random = Random(seed)  # noqa: S311 - seeds have to give the same inputs again
    [scenario] = random.choices(SCENARIOS, _scenario_weights())
    given = base_input(scenario, earlier)
    given.seed = seed
    given.width = random.choice([100, 100, 80, 40, 200])
    names, weights = list(FAMILIES), [_WEIGHTS[name] for name in FAMILIES]
    wanted = random.choice([1, 1, 1, 1, 1, 1, 2, 2, 3, 5])
    for _ in range(_TRIES):
        if len(given.mutations) == wanted:
            break
        [family] = random.choices(names, weights)
        mutator = random.choice(FAMILIES[family])
        effect = mutator(random, given)
        if effect is not None:
            given.mutations.append((f"{family}.{mutator.__name__}", effect))
    return given


def allowed_codes(given: Input, documented: frozenset[int]) -> frozenset[int]:
    """The exit codes an input may end with.

    Without a mutation it is that of the scenario. With one it is known what the files still state;
    with several, one may have taken away what another has broken.
    """
    if not given.mutations:
        return documented & {given.outcome}
    if len(given.mutations) > 1:
        return documented
    [(_, effect)] = given.mutations
    match effect:
        case Effect.KEEPS:
            return documented & {given.outcome, 2}
        case Effect.BREAKS:
            # A log without a haul is undecided; rule files with faults may be told as such.
            others = {"audit": {3}, "rulebooks": {1}, "prove": {1}, "coverage": {1}}
            return documented & ({2} | others.get(given.command, set()))
        # What is undecided before a change of the rules and after it does not change.
        case Effect.REMOVES if given.outcome == 1 and given.command != "impact":
            return documented - {0}
    return documented
