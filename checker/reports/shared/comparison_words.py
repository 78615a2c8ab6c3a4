"""A comparison of a rule in words: value and limit with labels and units."""

import re
from collections.abc import Mapping, Sequence

import numpy as np
from msgspec import Struct

from checker.evaluation.compared import kind_of_comparison
from checker.evaluation.finding import ExtraFigure, Finding
from checker.facts.catalogue import Fact
from checker.facts.printed_kind import printed_kind
from checker.reports.shared.words import join_words
from checker.rulebooks.formula import Governing
from checker.rulebooks.model import DatedValue
from checker.units.arithmetic import Number
from checker.units.formatting import FORCE, System, show, show_apart, show_for_calculation
from checker.units.parsing import KINDS

_OPERATORS = {
    ">=": "at least",
    "<=": "at most",
    ">": "more than",
    "<": "less than",
    "==": "exactly",
    "!=": "anything but",
}
_OPERATORS_OF_DAYS = {">=": "from", "<=": "to", ">": "after", "<": "before"}
_SPOKEN = {"*": " × ", "/": " / ", "+": " + ", "-": " - "}  # noqa: RUF001 - as people write it
_FUNCTIONS = {
    "min": "the least of ",
    "max": "the greatest of ",
    "abs": "the size of ",
    "ceil": "rounded up to a whole number ",
    "floor": "rounded down to a whole number ",
}
_CALL = re.compile(rf"\b({'|'.join(_FUNCTIONS)})\(")
_SIZE_OF_ONE = re.compile(r"abs\(\s*([a-z][a-z0-9_.]*)\s*\)")
_DIGITS = 3
_PLAIN = KINDS["number"].dimension
_BY_DIMENSION = {
    KINDS[name].dimension: name
    for name in ("load", "length", "duration", "speed", "pressure", "moment", "spring_rate")
}


class FoundAndWanted(Struct, frozen=True):
    """The two sides of the deciding comparison, in the reader's units."""

    found: str
    wanted: str


def found_and_wanted(finding: Finding, system: System) -> FoundAndWanted | None:
    """What the profile gives and what the rule requires; None where nothing was compared."""
    deciding = finding.governing
    if deciding is None:
        return None
    return FormulaWords(
        facts={used.fact.name: used.fact for used in finding.facts},
        thresholds=dict(finding.thresholds),
        values={used.fact.name: at_row(used.value, deciding.row) for used in finding.facts},
        system=system,
        metric=finding.metric_print,
    ).sides(deciding)


def at_row(value: Number, row: int) -> float:
    """A fact in the row that decides; a fact without tolerance is the same in every row."""
    if isinstance(value, float):
        return float(value)
    return float(value[row if len(value) > 1 else 0])


def operator_words(operator: str, kind: str) -> str:
    """How a value of a kind must compare with its limit: `at least`, of days `from`."""
    words = _OPERATORS_OF_DAYS if kind == "day" else _OPERATORS
    return words.get(operator, operator)


def answer(value: float) -> str:
    """A yes/no value as a word."""
    if np.isnan(value):
        return "not stated"
    return "yes" if value == 1 else "no"


def kind_for(shown: ExtraFigure) -> str:
    """The kind in which to show an extra figure, by its dimension; a whole number has none."""
    formula = shown.formula
    if formula.dimension is None or formula.dimension == _PLAIN:
        return "number" if re.search(r"\b(ceil|floor)\b", formula.text) else "ratio"
    return _BY_DIMENSION.get(formula.dimension, "number")


class FormulaWords(Struct, frozen=True):
    """Replaces the names in a rule by their labels and values."""

    facts: Mapping[str, Fact]
    thresholds: Mapping[str, DatedValue]
    values: Mapping[str, float]
    system: System
    metric: bool
    digits: int = _DIGITS
    reckon: bool = False
    """True if figures of one kind share one unit, for a calculator rather than a tape."""

    def sides(self, deciding: Governing) -> FoundAndWanted:
        """Both sides of a comparison, or of a yes/no name."""
        if deciding.operator is None or deciding.right is None:
            fact = self.facts[deciding.left]
            return FoundAndWanted(
                f"{fact.label}: {answer(deciding.left_value)}", answer(deciding.right_value)
            )
        actual, limit = self.values_of(deciding)
        found = f"{self.sentence(deciding.left)} {actual}"
        wanted = f"{operator_words(deciding.operator, self.kind_of(deciding))} {limit}"
        if is_worked_out(deciding.right):
            wanted += f" = {self.arithmetic(deciding.right)}"
        return FoundAndWanted(found, wanted)

    def values_of(self, deciding: Governing) -> tuple[str, str]:
        """The values of both sides, in one unit, with enough figures to tell them apart."""
        return show_apart(
            deciding.left_value,
            deciding.right_value,
            self.kind_of(deciding),
            self.system,
            digits=self.digits,
        )

    def kind_of(self, deciding: Governing) -> str:
        """The kind in which to show both sides of a comparison."""
        kind = kind_of_comparison(deciding.left, deciding.right or "", self.facts, self.thresholds)
        return "load" if self.reckon and kind == FORCE else kind

    def formula(self, text: str) -> str:
        """A whole formula in words: labels in quotes, thresholds as printed."""
        parts = re.split(r"\b(and|or|unless)\b", " ".join(text.split()))
        return "".join(self._clause(part) for part in parts)

    def _clause(self, text: str) -> str:
        """A part of a formula between joining words; a chain reads on with `which`."""
        signs = iter(("", ", which"))

        def spoken(match: re.Match[str]) -> str:
            word = match[0].strip()
            if word in _OPERATORS:
                return f"{next(signs, '')} is {_OPERATORS[word]} "
            if word in _SPOKEN:
                return _SPOKEN[word]
            if word in self.facts:
                return f'"{self.facts[word].label}"'
            if word in self.thresholds:
                return f"{self._word(word)} [{word.replace('_', ' ')}]"
            return _FUNCTIONS.get(word, word.replace("_", " "))

        return re.sub(r"\s*(?:[<>]=?|==|[*/+-])\s*|[a-z][a-z0-9_.]*", spoken, text)

    def sentence(self, text: str) -> str:
        """The left side in words: a fact's label, or arithmetic with values and an equals sign."""
        return self.alone(text) or f"{self.arithmetic(text)} ="

    def alone(self, text: str) -> str | None:
        """The label of a single fact, or of its size whatever its sign; None for arithmetic."""
        size = _SIZE_OF_ONE.fullmatch(text)
        name = size[1] if size else text
        if name not in self.facts:
            return None
        return self.facts[name].label + (", either way:" if size else "")

    def arithmetic(self, text: str) -> str:
        """An expression with the label and value of each name, and functions as people say them."""
        return self._spelled(with_signs(text))

    def _spelled(self, text: str) -> str:
        call = _CALL.search(text)
        if call is None:
            return re.sub(r"[a-z][a-z0-9_.]*", lambda name: self._word(name[0]), text)
        before, arguments, after = text[: call.start()], *_arguments(text, call.end())
        words = _call_words(call[1], [self._spelled(each) for each in arguments])
        whole = words if not before and not after else f"({words})"
        return self._spelled(before) + whole + self._spelled(after)

    def _word(self, name: str) -> str:
        if name in self.thresholds:
            return self.threshold(self.thresholds[name])
        if name in self.facts:
            fact = self.facts[name]
            return f"{fact.label} {self._value(name)}"
        return name

    def threshold(self, value: DatedValue) -> str:
        """A number of the rule as printed; for calculation also in the reader's units."""
        text = (value.metric_text if self.metric else None) or value.text
        if not self.reckon:
            return text
        kind, number = value.quantity.kind, value.value(metric=self.metric)
        figure = show_for_calculation(number, kind, self.system, digits=self.digits)
        return text if figure.replace(",", "") == text.replace(",", "") else f"{text} ({figure})"

    def _value(self, name: str) -> str:
        fact, value = self.facts[name], self.values[name]
        if self.reckon:
            return show_for_calculation(value, fact.kind, self.system, digits=self.digits)
        return show(value, printed_kind(fact), self.system, digits=self.digits)


def _arguments(text: str, start: int) -> tuple[list[str], str]:
    """The arguments of a call whose parenthesis opens before `start`, and the text behind it."""
    depth, begun, found = 0, start, []
    for index in range(start, len(text)):
        sign = text[index]
        if depth == 0 and sign in ",)":
            found.append(text[begun:index].strip())
            begun = index + 1
            if sign == ")":
                break
        depth += {"(": 1, ")": -1}.get(sign, 0)
    return found, text[begun:]


def _call_words(name: str, arguments: Sequence[str]) -> str:
    """A function of arithmetic as people say it."""
    if name in ("ceil", "floor"):
        return f"{arguments[0]}, rounded {'up' if name == 'ceil' else 'down'}"
    if name == "abs":
        return f"the size of {arguments[0]}"
    word = {"min": ("lesser", "least"), "max": ("greater", "greatest")}[name][len(arguments) > 2]
    return f"the {word} of {join_words(arguments)}"


def with_signs(text: str) -> str:
    """Arithmetic with the usual signs of multiplication and comparison."""
    return re.sub(r"\s*([*/+-])\s*", lambda sign: _SPOKEN[sign[1]], text).strip()


def is_worked_out(side: str) -> bool:
    """True if a side of a comparison is arithmetic, not a single name or number."""
    return re.search("[a-z]", side) is not None and re.search(r"[-+*/(]", side) is not None
