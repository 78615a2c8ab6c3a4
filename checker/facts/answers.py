"""Every walk-around question of the profile schema is a fact of its own."""

from collections.abc import Callable

import numpy as np

from checker.documents.schemas import definition
from checker.facts.catalogue import ANSWER, STATED, Fact, add, fact
from checker.facts.view import View
from checker.units.arithmetic import NOT_STATED, Number


def _add_answers() -> None:
    for question, node in definition("walkaround")["properties"].items():
        add(
            Fact(
                name=f"walkaround.{question}",
                kind=node.get("quantity", ANSWER),
                label=question.replace("_", " "),
                meaning=node["description"],
                compute=_reader(question),
                each=None,
                fields=(f"walkaround.{question}",),
                instead=(),
                uses=(),
                source=STATED,
            )
        )


def _reader(question: str) -> Callable[[View], Number]:
    def read(view: View) -> Number:
        return view.load.walkaround.get(question, NOT_STATED)

    return read


_add_answers()


def _measured(view: View, question: str) -> Number:
    return view.load.walkaround.get(question, NOT_STATED)


@fact(
    "walkaround.path_deviation_at_least",
    "length",
    "how far the trailer runs off the path, as far as measured",
    instead=("walkaround.path_deviation",),
    source=STATED,
)
def path_deviation_at_least(view: View) -> Number:
    """What was measured, and zero where nobody did: the true figure may be more."""
    measured = _measured(view, "path_deviation")
    return np.where(np.isnan(measured), 0.0, measured)[()]


@fact(
    "walkaround.pressure_missing_at_least",
    "pressure",
    "pressure missing in the softest trailer tyre, as far as measured",
    instead=("walkaround.lowest_cold_pressure", "walkaround.placard_pressure"),
    source=STATED,
)
def pressure_missing_at_least(view: View) -> Number:
    """Placard less lowest cold pressure; zero where one was not read: the true gap may be more."""
    gap = _measured(view, "placard_pressure") - _measured(view, "lowest_cold_pressure")
    return np.where(np.isnan(gap), 0.0, np.maximum(gap, 0.0))[()]
