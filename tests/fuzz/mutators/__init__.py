"""Every mutator, by the family its file holds."""

from collections.abc import Mapping, Sequence
from typing import Final

from tests.fuzz.inputs import Mutator
from tests.fuzz.mutators import (
    calls,
    encodings,
    git,
    names,
    nodes,
    parquet,
    settings,
    structure,
    tables,
    workbooks,
    yaml_text,
)

FAMILIES: Final[Mapping[str, Sequence[Mutator]]] = {
    module.__name__.rpartition(".")[2]: module.MUTATORS
    for module in (
        calls,
        encodings,
        git,
        names,
        nodes,
        parquet,
        settings,
        structure,
        tables,
        workbooks,
        yaml_text,
    )
}
