"""Parses the tokens of a formula into nodes and finds every fault of syntax, kind and dimension."""

import operator
from collections.abc import Callable
from functools import reduce
from typing import Final, NoReturn

from checker.rulebooks.dimensions import (
    PLAIN,
    YES_NO,
    Dimension,
    FormulaError,
    FormulaFaults,
    Names,
    over,
    times,
)
from checker.rulebooks.formula_arithmetic import (
    ARITHMETIC,
    COMPARE,
    MIRRORED,
    OF_MANY,
    OF_ONE,
    answer,
    comparison,
    joined,
    opposite,
)
from checker.rulebooks.formula_nodes import (
    REPORTED,
    AnyDimension,
    Node,
    NumberNode,
    TruthNode,
    dimension_of,
    dimension_words,
)
from checker.rulebooks.formula_tokens import FUNCTIONS, Token

DEEPEST_NESTING: Final = 50


class Parser:
    """Recursive descent over the tokens, loosest binding first, as in Python."""

    def __init__(self, tokens: list[Token], names: Names, faults: list[FormulaError]) -> None:
        """Start at the first token; faults found are added to `faults`."""
        self._tokens = tokens
        self._names = names
        self._faults = faults
        self._at = 0
        self._depth = 0

    def whole(self) -> Node:
        """The node of the whole formula; raises FormulaFaults where parsing cannot continue."""
        node = self._unless()
        token = self._next
        if token.kind != "end":
            found = f"`{token.text}` is where the formula should continue or end"
            if token.text == ")":
                found = "`)` closes nothing"
            self._stop(found, "an operator such as + - * / >= and or, or the end", token.offset)
        return node

    @property
    def _next(self) -> Token:
        return self._tokens[self._at]

    def _take(self, *texts: str) -> Token | None:
        """The next token if it is one of these signs, which is then consumed."""
        token = self._next
        if token.kind != "sign" or token.text not in texts:
            return None
        self._at += 1
        return token

    def _add_fault(self, found: str, wanted: str, offset: int) -> None:
        self._faults.append(FormulaError(found, wanted, None, offset))

    def _stop(self, found: str, wanted: str, offset: int) -> NoReturn:
        """Raise: after a fault of syntax nothing can be read with certainty."""
        self._add_fault(found, wanted, offset)
        raise FormulaFaults(self._faults)

    def _deeper(self, offset: int) -> None:
        self._depth += 1
        if self._depth > DEEPEST_NESTING:
            self._stop(
                f"the formula is nested more than {DEEPEST_NESTING} deep",
                "a simpler formula, or several rules",
                offset,
            )

    def _unless(self) -> Node:
        return self._joined_by("unless", self._either)

    def _either(self) -> Node:
        return self._joined_by("or", self._all)

    def _all(self) -> Node:
        return self._joined_by("and", self._not)

    def _joined_by(self, word: str, operand: Callable[[], Node]) -> Node:
        node = operand()
        while sign := self._take(word):
            left, right = self._truth(node, sign), self._truth(operand(), sign)
            node = joined(left, word, right) if left and right else REPORTED
        return node

    def _not(self) -> Node:
        sign = self._take("not")
        if not sign:
            return self._compared()
        self._deeper(sign.offset)
        node = self._not()
        self._depth -= 1
        truth = self._truth(node, sign)
        return opposite(truth) if truth else REPORTED

    def _compared(self) -> Node:
        operands = [self._sum()]
        signs: list[Token] = []
        while sign := self._take(*COMPARE):
            signs.append(sign)
            operands.append(self._sum())
        if not signs:
            return operands[0]
        links = [
            self._link(left, sign, right, first_of_chain=sign is signs[0] and len(signs) > 1)
            for left, sign, right in zip(operands, signs, operands[1:], strict=False)
        ]
        sound = [link for link in links if link]
        if len(sound) < len(links):
            return REPORTED
        return reduce(lambda left, right: joined(left, "and", right), sound)

    def _link(
        self, left: Node, sign: Token, right: Node, *, first_of_chain: bool
    ) -> TruthNode | None:
        a, b = self._number(left, sign), self._number(right, sign)
        if a is None or b is None:
            return None
        if (
            self._common_dimension(f"cannot compare {{}} with {{}} by `{sign.text}`", a, b, sign)
            is None
        ):
            return None
        if first_of_chain:
            return comparison(b, MIRRORED[sign.text], a)
        return comparison(a, sign.text, b)

    def _sum(self) -> Node:
        node = self._product()
        while sign := self._take("+", "-"):
            phrase = "cannot add {} to {}" if sign.text == "+" else "cannot take {1} from {0}"
            left, right = self._number(node, sign), self._number(self._product(), sign)
            dimension = left and right and self._common_dimension(phrase, left, right, sign)
            node = self._worked_out(left, sign, right, dimension or AnyDimension.FAULTY)
        return node

    def _product(self) -> Node:
        node = self._signed()
        while sign := self._take("*", "/"):
            left, right = self._number(node, sign), self._number(self._signed(), sign)
            dimension: Dimension | AnyDimension = AnyDimension.FAULTY
            if sign.text == "/" and right and right.dimension is AnyDimension.ZERO:
                self._add_fault(
                    "nothing can be divided by 0", "a divisor other than 0", sign.offset
                )
            elif left and right:
                combine = times if sign.text == "*" else over
                dimension = combine(dimension_of(left.dimension), dimension_of(right.dimension))
            node = self._worked_out(left, sign, right, dimension)
        return node

    def _worked_out(
        self,
        left: NumberNode | None,
        sign: Token,
        right: NumberNode | None,
        dimension: Dimension | AnyDimension,
    ) -> NumberNode:
        if left is None or right is None or dimension is AnyDimension.FAULTY:
            return REPORTED
        work, a, b = ARITHMETIC[sign.text], left.value, right.value
        names = left.names | right.names
        return NumberNode(left.start, right.end, dimension, names, lambda env: work(a(env), b(env)))

    def _signed(self) -> Node:
        sign = self._take("-")
        if not sign:
            return self._primary()
        self._deeper(sign.offset)
        part = self._number(self._signed(), sign)
        self._depth -= 1
        if part is None:
            return REPORTED
        inner = part.value
        return part._replace(start=sign.offset, value=lambda env: -inner(env))

    def _primary(self) -> Node:
        token = self._next
        end = token.offset + len(token.text)
        if token.kind == "end":
            self._stop("the formula ends too early", "a name, 0, 1, 2 or `(`", token.offset)
        self._at += 1
        if token.kind == "number":
            return self._literal(token, end)
        if token.kind == "name":
            return self._named(token, end)
        if token.kind == "function":
            return self._call(token)
        if token.text == "not":
            self._stop("`not` is inside arithmetic", "parentheses: `(not a)`", token.offset)
        if token.text != "(":
            found = f"`{token.text}` is where a name or number belongs"
            self._stop(found, "a name, 0, 1, 2 or `(`", token.offset)
        self._deeper(token.offset)
        inner = self._unless()
        end = self._close(token)
        if isinstance(inner, TruthNode):
            return inner
        return inner._replace(start=token.offset, end=end)

    def _close(self, opened: Token) -> int:
        self._depth -= 1
        closed = self._take(")")
        if closed is None:
            if self._next.kind == "end":
                self._stop(f"`{opened.text}` is never closed", "`)`", opened.offset)
            found = f"`{self._next.text}` is where an operator or `)` belongs"
            self._stop(found, "an operator such as + - * / >= and or, or `)`", self._next.offset)
        return self._tokens[self._at - 1].offset + 1

    def _literal(self, token: Token, end: int) -> NumberNode:
        if token.text not in ("0", "1", "2"):
            return REPORTED
        number = float(token.text)
        dimension = PLAIN if number else AnyDimension.ZERO
        return NumberNode(token.offset, end, dimension, frozenset(), lambda _env: number)

    def _named(self, token: Token, end: int) -> Node:
        if token.text not in self._names:
            return REPORTED
        dimension = self._names[token.text]
        names, value = frozenset({token.text}), operator.itemgetter(token.text)
        if dimension is YES_NO:
            return answer(NumberNode(token.offset, end, PLAIN, names, value))
        return NumberNode(token.offset, end, dimension, names, value)

    def _call(self, function: Token) -> NumberNode:
        opened = self._next  # a name counts as a function because `(` follows it
        self._at += 1
        self._deeper(opened.offset)
        given: list[Node] = []
        if not (self._next.kind == "sign" and self._next.text == ")"):
            given.append(self._unless())
            while self._take(","):
                given.append(self._unless())
        end = self._close(opened)
        numbers = [self._number(node, function) for node in given]
        parts = [part for part in numbers if part]
        if len(parts) < len(given) or function.text not in FUNCTIONS:
            return REPORTED
        names = frozenset[str]().union(*(part.names for part in parts))
        if function.text in OF_MANY:
            return self._of_many(function, parts, end, names)
        return self._of_one(function, parts, end, names)

    def _of_many(
        self, function: Token, parts: list[NumberNode], end: int, names: frozenset[str]
    ) -> NumberNode:
        if len(parts) < 2:
            found = f"`{function.text}` has {len(parts)} value(s)"
            self._add_fault(found, "at least two, with a comma between", function.offset)
            return REPORTED
        phrase = f"cannot take the {function.text} of {{}} and {{}}"
        dimension: Dimension | AnyDimension | None = parts[0].dimension
        for part in parts[1:]:
            dimension = dimension and self._common_dimension(
                phrase, parts[0]._replace(dimension=dimension), part, function
            )
        pick, values = OF_MANY[function.text], [part.value for part in parts]
        return NumberNode(
            function.offset,
            end,
            dimension or AnyDimension.FAULTY,
            names,
            lambda env: pick([value(env) for value in values]),
        )

    def _of_one(
        self, function: Token, parts: list[NumberNode], end: int, names: frozenset[str]
    ) -> NumberNode:
        if len(parts) != 1:
            found = f"`{function.text}` has {len(parts)} values"
            self._add_fault(found, "one", function.offset)
            return REPORTED
        dimension, inner, work = parts[0].dimension, parts[0].value, OF_ONE[function.text]
        if function.text != "abs" and dimension_of(dimension) != PLAIN:
            found = (
                f"cannot round {dimension_words(dimension)} to a whole number by `{function.text}`"
            )
            self._add_fault(found, "a plain number: divide by a step first", function.offset)
            return REPORTED
        return NumberNode(function.offset, end, dimension, names, lambda env: work(inner(env)))

    def _number(self, node: Node, sign: Token) -> NumberNode | None:
        """The node as a number; None if it is none or faulty, with the fault reported."""
        if isinstance(node, TruthNode):
            found = f"`{sign.text}` is given a yes or no"
            wanted = "a number; join yes and no by and, or, not"
            self._add_fault(found, wanted, sign.offset)
            return None
        return None if node.dimension is AnyDimension.FAULTY else node

    def _truth(self, node: Node, sign: Token) -> TruthNode | None:
        """The node as a yes or no; None if it is none or faulty, with the fault reported."""
        if isinstance(node, TruthNode):
            return node
        if node.dimension is not AnyDimension.FAULTY:
            found = f"`{sign.text}` is given {dimension_words(node.dimension)}"
            wanted = "a yes or no on both sides: a comparison or a yes/no name"
            if sign.text == "not":
                wanted = "a yes or no: a comparison or a yes/no name"
            self._add_fault(found, wanted, sign.offset)
        return None

    def _common_dimension(
        self, phrase: str, left: NumberNode, right: NumberNode, sign: Token
    ) -> Dimension | AnyDimension | None:
        """The dimension of both sides (0 fits any); None, with a fault reported, if they differ."""
        if left.dimension is AnyDimension.ZERO or left.dimension == right.dimension:
            return right.dimension
        if right.dimension is AnyDimension.ZERO:
            return left.dimension
        found = phrase.format(dimension_words(left.dimension), dimension_words(right.dimension))
        self._add_fault(found, "two quantities of one kind", sign.offset)
        return None
