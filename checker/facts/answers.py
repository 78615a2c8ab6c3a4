"""Every walk-around question of the profile schema is a fact of its own."""

from collections.abc import Callable

from checker.arithmetic import NOT_STATED, Number
from checker.documents.schemas import definition
from checker.facts.catalogue import ANSWER, STATED, Fact, add
from checker.facts.view import View


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
