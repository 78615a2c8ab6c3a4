"""Formulas: what parses, what is refused and how it is told, what is worked out, what governs.

Expected values are worked out by hand beside each case unless another origin is named. The random
tests hold the compiled formula against a naive evaluator that reads Python's own syntax tree,
written here on purpose without any of the project's arithmetic.
"""

import ast
import math
import operator

import numpy as np
import pytest
from hypothesis import given, reject, settings
from hypothesis import strategies as st

from checker.rulebooks.dimensions import YES_NO, FormulaFaults, in_words
from checker.rulebooks.formula import Formula, Governing, compile_formula

NAN = math.nan
NAMES = {
    "article.weight": (1, 0, 0),
    "article.aggregate_working_load_limit": (1, 0, 0),
    "article.tiedown_count": (0, 0, 0),
    "article.length": (0, 1, 0),
    "hitch.tongue_weight": (1, 0, 0),
    "tow_vehicle.speed": (0, 1, -1),
    "tyre.pressure": (1, -2, 0),
    "trip.duration": (0, 0, 1),
    "trailer.is_gooseneck": YES_NO,
    "walkaround.chains_crossed": YES_NO,
    "share": (0, 0, 0),
    "low": (0, 0, 0),
    "high": (0, 0, 0),
    "step": (0, 1, 0),
}
ABXY = {
    "a": (0, 0, 0),
    "b": (0, 0, 0),
    "c": (0, 0, 0),
    "d": (0, 0, 0),
    "p": YES_NO,
    "q": YES_NO,
}


def truth(text: str, names=ABXY) -> Formula:
    return compile_formula(text, names, result="truth")


def number(text: str, names=ABXY) -> Formula:
    return compile_formula(text, names, result="number")


def faults(text: str, result="truth", names=NAMES) -> list[tuple[int, str]]:
    with pytest.raises(FormulaFaults, match="wanted") as caught:
        compile_formula(text, names, result=result)
    return [(fault.offset, str(fault)) for fault in caught.value.faults]


class TestAccepted:
    @pytest.mark.parametrize(
        ("text", "env", "expected"),
        [
            ("a + b * c", {"a": 1.0, "b": 2.0, "c": 5.0}, 11.0),
            ("(a + b) * c", {"a": 1.0, "b": 2.0, "c": 5.0}, 15.0),
            ("a - b - c", {"a": 9.0, "b": 2.0, "c": 5.0}, 2.0),
            ("a / b / c", {"a": 60.0, "b": 2.0, "c": 5.0}, 6.0),
            ("-a + b", {"a": 1.0, "b": 3.0}, 2.0),
            ("- -a", {"a": 4.0}, 4.0),
            ("2 * a + 1 - 0", {"a": 4.0}, 9.0),
            ("min(a, b, c)", {"a": 4.0, "b": 3.0, "c": 5.0}, 3.0),
            ("max (a, b, c)", {"a": 4.0, "b": 3.0, "c": 5.0}, 5.0),
            ("abs(a - b)", {"a": 4.0, "b": 9.0}, 5.0),
            ("ceil(a)", {"a": 2.1}, 3.0),
            ("floor(a)", {"a": 2.9}, 2.0),
            # 30 ft / 10 ft - 1 in metres: plain ceil gives 3
            ("ceil(a / b - 1)", {"a": 9.144 + 4e-15, "b": 3.048}, 2.0),
        ],
    )
    def test_arithmetic(self, text, env, expected):
        assert number(text).value(env) == pytest.approx(expected, rel=1e-12)

    @pytest.mark.parametrize(
        ("text", "env", "expected"),
        [
            ("a < b", {"a": 1.0, "b": 1.0}, 0.0),
            ("a <= b", {"a": 1.0, "b": 1.0}, 1.0),
            ("a > b", {"a": 1.0, "b": 1.0}, 0.0),
            ("a >= b", {"a": 1.0, "b": 1.0}, 1.0),
            ("a == b", {"a": 1.0, "b": 1.0}, 1.0),
            # 2200 at 4 x 550: just below and just above, well outside the tolerance
            ("a >= b", {"a": 2199.999, "b": 2200.0}, 0.0),
            ("a >= b", {"a": 2200.001, "b": 2200.0}, 1.0),
            ("a > b", {"a": 2200.001, "b": 2200.0}, 1.0),
            ("a <= b", {"a": 2200.001, "b": 2200.0}, 0.0),
            ("a < b", {"a": 2199.999, "b": 2200.0}, 1.0),
            ("a == b", {"a": 2199.999, "b": 2200.0}, 0.0),
            # one part in 1e10 is rounding, not a difference
            ("a >= b", {"a": 1.0 - 1e-10, "b": 1.0}, 1.0),
            ("a > b", {"a": 1.0 + 1e-10, "b": 1.0}, 0.0),
            ("a <= b <= c", {"a": 1.0, "b": 2.0, "c": 3.0}, 1.0),
            ("a <= b <= c", {"a": 1.0, "b": 4.0, "c": 3.0}, 0.0),
            ("a <= b < c == d", {"a": 1.0, "b": 2.0, "c": 3.0, "d": 3.0}, 1.0),
            ("p or q unless a > b", {"a": 2.0, "b": 1.0, "p": 0.0, "q": 0.0}, 1.0),
            ("p unless q and a > b", {"a": 2.0, "b": 1.0, "p": 0.0, "q": 0.0}, 0.0),
            ("p and (q unless a > b)", {"a": 2.0, "b": 1.0, "p": 0.0, "q": 0.0}, 0.0),
            ("not a > b or p", {"a": 2.0, "b": 1.0, "p": 0.0}, 0.0),
            ("p or q and a > b", {"a": 1.0, "b": 2.0, "p": 1.0, "q": 0.0}, 1.0),
            ("(p or q) and a > b", {"a": 1.0, "b": 2.0, "p": 1.0, "q": 0.0}, 0.0),
            ("p and not q", {"p": 1.0, "q": 0.0}, 1.0),
            ("p", {"p": 1.0}, 1.0),
        ],
    )
    def test_truth(self, text, env, expected):
        assert truth(text).value(env) == expected

    def test_result_is_a_plain_float_for_one_row_and_an_array_for_many(self):
        one = truth("min(a, b) >= c / d").value({"a": 1.0, "b": 2.0, "c": 3.0, "d": 4.0})
        many = truth("a >= b").value({"a": np.array([1.0, 3.0]), "b": 2.0})
        assert type(one) is float
        assert many.tolist() == [0.0, 1.0]

    def test_formula_knows_its_names_and_text(self):
        text = "article.aggregate_working_load_limit >= share * article.weight"
        formula = truth(text, NAMES)
        assert formula.text == text
        assert formula.names == {
            "article.aggregate_working_load_limit",
            "share",
            "article.weight",
        }
        assert formula.dimension is None

    @pytest.mark.parametrize(
        ("text", "dimension"),
        [
            ("share * article.weight", (1, 0, 0)),
            ("article.length / trip.duration", (0, 1, -1)),
            ("article.weight / article.length / article.length", (1, -2, 0)),
            ("article.weight * article.length", (1, 1, 0)),
            ("1 / article.length", (0, -1, 0)),
            ("0 + article.weight", (1, 0, 0)),
            ("article.weight - 0", (1, 0, 0)),
            ("max(0, article.weight)", (1, 0, 0)),
            ("-abs(article.length)", (0, 1, 0)),
            ("ceil(article.length / step)", (0, 0, 0)),
            ("0", (0, 0, 0)),
        ],
    )
    def test_dimension_of_a_number(self, text, dimension):
        assert number(text, NAMES).dimension == dimension

    @pytest.mark.parametrize(
        "text",
        [
            "article.weight > 0",
            "0 < article.length",
            "max(0, 0, article.weight) == 0",
            "0 <= article.length <= step",
            "tow_vehicle.speed == article.length / trip.duration",
            "  article.weight\n  >= hitch.tongue_weight ",
        ],
    )
    def test_zero_compares_with_every_dimension_and_products_add_up(self, text):
        assert truth(text, NAMES).dimension is None

    def test_longest_and_deepest_formula_that_is_read(self):
        longest = "a" + " + a" * 249 + " >"
        longest += " " * (999 - len(longest)) + "0"
        assert len(longest) == 1000
        assert truth(longest).value({"a": 1.0}) == 1.0
        assert truth("(" * 50 + "a > b" + ")" * 50).value({"a": 2.0, "b": 1.0}) == 1.0
        assert truth(" and ".join(["(not -1 > 0)"] * 55)).value({"a": 1.0}) == 1.0
        assert truth("not " * 50 + "p").value({"p": 1.0}) == 1.0
        assert number("-" * 50 + "a").value({"a": 3.0}) == 3.0
        chain = truth("<".join("a" * 500))
        assert chain.value({"a": 3.0}) == 0.0
        assert chain.margins({"a": 3.0}) == 0.0


class TestRefused:
    """Golden messages: they are the page a rule's writer sees."""

    @pytest.mark.parametrize(
        ("text", "offset", "message"),
        [
            (
                "hitch.tonge_weight > 0",
                0,
                "`hitch.tonge_weight` is not a known name; wanted: a fact of the catalogue or a "
                "threshold of this rule; did you mean `hitch.tongue_weight`?",
            ),
            (
                "Share > 0",
                0,
                "`Share` is not a known name; wanted: a fact of the catalogue or a threshold of "
                "this rule; did you mean `share`?",
            ),
            (
                "article.weight + article.length > 0",
                15,
                "cannot add a weight or rating (lb, kg) to a length (ft, m); wanted: two "
                "quantities of one kind",
            ),
            (
                "article.weight - trip.duration > 0",
                15,
                "cannot take a time (s, h) from a weight or rating (lb, kg); wanted: two "
                "quantities of one kind",
            ),
            (
                "(article.weight) >= tyre.pressure",
                17,
                "cannot compare a weight or rating (lb, kg) with a pressure (psi, kPa) by `>=`; "
                "wanted: two quantities of one kind",
            ),
            (
                "article.weight >= 1",
                15,
                "cannot compare a weight or rating (lb, kg) with a plain number by `>=`; wanted: "
                "two quantities of one kind",
            ),
            (
                "max(tow_vehicle.speed, article.length) > 0",
                0,
                "cannot take the max of a speed (mph, km/h) and a length (ft, m); wanted: two "
                "quantities of one kind",
            ),
            (
                "max(0, article.weight, article.length) > 0",
                0,
                "cannot take the max of a weight or rating (lb, kg) and a length (ft, m); "
                "wanted: two quantities of one kind",
            ),
            (
                "ceil(article.length) > 0",
                0,
                "cannot round a length (ft, m) to a whole number by `ceil`; wanted: a plain "
                "number: divide by a step first",
            ),
            (
                "share > 0.5",
                8,
                "the number 0.5 is in the formula; wanted: 0, 1 or 2; write any other number "
                "as a threshold with a source and a date",
            ),
            (
                "share > 1.0",
                8,
                "the number 1.0 is in the formula; wanted: 0, 1 or 2; write any other number "
                "as a threshold with a source and a date; did you mean `1`?",
            ),
            (
                "share > 3",
                8,
                "the number 3 is in the formula; wanted: 0, 1 or 2; write any other number "
                "as a threshold with a source and a date",
            ),
            (
                "share / 0 > 1",
                6,
                "nothing can be divided by 0; wanted: a divisor other than 0",
            ),
            (
                "trailer.is_gooseneck + 1 > 0",
                21,
                "`+` is given a yes or no; wanted: a number; join yes and no by and, or, not",
            ),
            (
                "trailer.is_gooseneck == 1",
                21,
                "`==` is given a yes or no; wanted: a number; join yes and no by and, or, not",
            ),
            (
                "-trailer.is_gooseneck > 0",
                0,
                "`-` is given a yes or no; wanted: a number; join yes and no by and, or, not",
            ),
            (
                "min(trailer.is_gooseneck, 1) > 0",
                0,
                "`min` is given a yes or no; wanted: a number; join yes and no by and, or, not",
            ),
            (
                "article.weight and trailer.is_gooseneck",
                15,
                "`and` is given a weight or rating (lb, kg); wanted: a yes or no on both sides: "
                "a comparison or a yes/no name",
            ),
            (
                "not 0",
                0,
                "`not` is given a plain number; wanted: a yes or no: a comparison or a yes/no name",
            ),
            (
                " article.weight",
                1,
                "the formula gives a weight or rating (lb, kg); wanted: a yes or no: compare it "
                "with something, as in `a >= b`",
            ),
            (
                "min(share) > 0",
                0,
                "`min` has 1 value(s); wanted: at least two, with a comma between",
            ),
            ("abs(low, high) > 0", 0, "`abs` has 2 values; wanted: one"),
            (
                "round(share) > 0",
                0,
                "`round` is not a function; wanted: min, max, abs, ceil, floor",
            ),
            (
                "MIN(low, high) > 0",
                0,
                "`MIN` is not a function; wanted: min, max, abs, ceil, floor; did you mean `min`?",
            ),
            (
                "low > 0 AND high > 0",
                8,
                "`AND` is not written so; wanted: small letters; did you mean `and`?",
            ),
        ],
    )
    def test_meaning(self, text, offset, message):
        assert faults(text) == [(offset, message)]

    def test_a_number_is_wanted_where_a_yes_or_no_stands(self):
        assert faults("low > high", result="number") == [
            (0, "the formula gives a yes or no; wanted: a number")
        ]

    @pytest.mark.parametrize(
        ("text", "offset", "found"),
        [
            ("", 0, "the formula ends too early"),
            ("low >=", 6, "the formula ends too early"),
            (">= low", 0, "`>=` is where a name or number belongs"),
            ("low > + high", 6, "`+` is where a name or number belongs"),
            ("low high", 4, "`high` is where the formula should continue or end"),
            ("low > (high + 1", 6, "`(` is never closed"),
            ("min(low, high > 0", 3, "`(` is never closed"),
            ("(low > high))", 12, "`)` closes nothing"),
            ("low, high", 3, "`,` is where the formula should continue or end"),
            ("(low, high) > 0", 4, "`,` is where an operator or `)` belongs"),
            ("min(low,) > 0", 8, "`)` is where a name or number belongs"),
            ("min() > 0", 0, "`min` has 0 value(s)"),
            ("low > not high", 6, "`not` is inside arithmetic"),
            ("low ** 2 > 1", 4, "`**` has no meaning in a formula"),
            ("low ^ 2 > 1", 4, "`^` has no meaning in a formula"),
            ("low // 2 > 1", 4, "`//` has no meaning in a formula"),
            ("low % 2 > 1", 4, "`%` has no meaning in a formula"),
            ("low != high", 4, "`!=` has no meaning in a formula"),
            ("low[0] > 1", 3, "`[` has no meaning in a formula"),
            ("'low' > 1", 0, "`'` has no meaning in a formula"),
            ("low > high # why", 11, "`#` has no meaning in a formula"),
            ("min(low, high).real > 0", 14, "`.` has no meaning in a formula"),
            ("low. > 0", 3, "`.` has no meaning in a formula"),
            ("low > high\x00", 10, "`\x00` has no meaning in a formula"),
            ("low in high", 4, "`in` is not a known name"),
            ("low > high if share else low", 11, "`if` is not a known name"),
            ("lambda: low", 0, "`lambda` is not a known name"),
            ("True", 0, "`True` is not a known name"),
            ("__import__(low)", 0, "`__import__` is not a function"),
            ("share(low) > 0", 0, "`share` is not a function"),
            ("min > 0", 0, "`min` is not a known name"),
            ("min(low, key=high) > 0", 9, "`key` is not a known name"),
            ("(" * 51 + "low > 0" + ")" * 51, 50, "the formula is nested more than 50 deep"),
            ("not " * 51 + "low > 0", 200, "the formula is nested more than 50 deep"),
            ("-" * 51 + "low > 0", 50, "the formula is nested more than 50 deep"),
            ("abs(" * 51 + "low" + ")" * 51, 203, "the formula is nested more than 50 deep"),
            ("(" * 1000, 50, "the formula is nested more than 50 deep"),
            ("low > 0" + " " * 994, 1000, "the formula has 1001 characters"),
        ],
    )
    def test_syntax(self, text, offset, found):
        told = faults(text)
        assert told[0][0] == offset
        assert told[0][1].startswith(found + "; wanted: ")

    @pytest.mark.parametrize(
        ("sign", "meant"),
        [
            ("=", "=="),
            ("=>", ">="),
            ("=<", "<="),
            ("\N{GREATER-THAN OR EQUAL TO}", ">="),
            ("\N{LESS-THAN OR EQUAL TO}", "<="),
            ("!=", "not (a == b)"),
            ("<>", "not (a == b)"),
        ],
    )
    def test_signs_of_elsewhere_have_a_suggestion(self, sign, meant):
        told = faults(f"low {sign} high")
        assert len(told) == 1
        assert told[0][1].endswith(f"; did you mean `{meant}`?")

    def test_every_fault_is_told_in_the_order_of_the_text(self):
        text = "hitch.tonge_weight >= 0.1 * article.weight && article.length + share > 0"
        assert [(at, message.split(";")[0]) for at, message in faults(text)] == [
            (0, "`hitch.tonge_weight` is not a known name"),
            (22, "the number 0.1 is in the formula"),
            (43, "`&&` has no meaning in a formula"),
            (61, "cannot add a length (ft, m) to a plain number"),
        ]

    def test_a_fault_is_told_with_what_a_later_syntax_fault_hides(self):
        told = faults("hitch.tonge_weight > (share + article.length")
        assert [at for at, _ in told] == [0, 21, 28]

    def test_a_reported_piece_raises_no_second_message(self):
        assert [at for at, _ in faults("(article.weight + step) * low > high and not 0.3")] == [
            16,
            45,
        ]

    def test_fault_carries_its_parts(self):
        with pytest.raises(FormulaFaults, match="tonge") as caught:
            compile_formula("hitch.tonge_weight > 0", NAMES, result="truth")
        (fault,) = caught.value.faults
        assert fault.found == "`hitch.tonge_weight` is not a known name"
        assert fault.wanted == "a fact of the catalogue or a threshold of this rule"
        assert fault.suggestion == "hitch.tongue_weight"
        assert fault.offset == 0

    def test_kinds_in_words(self):
        assert in_words(YES_NO) == "a yes or no"
        assert in_words((2, 0, -1)) == "a quantity in load^2 x time^-1"


class TestUnknown:
    """Three-valued truth after Kleene: 1 yes, 0 no, NaN not stated."""

    @pytest.mark.parametrize(
        ("p", "q", "conjunction", "disjunction"),
        [
            (1.0, 1.0, 1.0, 1.0),
            (1.0, 0.0, 0.0, 1.0),
            (0.0, 0.0, 0.0, 0.0),
            (1.0, NAN, NAN, 1.0),
            (0.0, NAN, 0.0, NAN),
            (NAN, NAN, NAN, NAN),
        ],
    )
    def test_and_or_both_ways_round(self, p, q, conjunction, disjunction):
        for env in ({"p": p, "q": q}, {"p": q, "q": p}):
            assert truth("p and q").value(env) == pytest.approx(conjunction, nan_ok=True)
            assert truth("p or q").value(env) == pytest.approx(disjunction, nan_ok=True)
            # the margin's verdict is the same one
            assert _verdict(truth("p and q").margins(env)) == pytest.approx(
                conjunction, nan_ok=True
            )
            assert _verdict(truth("p or q").margins(env)) == pytest.approx(disjunction, nan_ok=True)

    @pytest.mark.parametrize("p", [1.0, 0.0, NAN])
    def test_not(self, p):
        assert truth("not p").value({"p": p}) == pytest.approx(1 - p, nan_ok=True)

    @pytest.mark.parametrize("text", ["a < b", "a <= b", "a > b", "a >= b", "a == b", "not a < b"])
    def test_a_comparison_with_something_not_stated_is_unknown(self, text):
        for env in ({"a": NAN, "b": 1.0}, {"a": 1.0, "b": NAN}):
            assert math.isnan(truth(text).value(env))
            assert math.isnan(truth(text).margins(env))

    def test_chain_with_one_side_unknown_fails_by_the_other(self):
        chain = truth("a <= b <= c")
        assert chain.value({"a": NAN, "b": 4.0, "c": 3.0}) == 0.0
        assert math.isnan(chain.value({"a": NAN, "b": 2.0, "c": 3.0}))

    @pytest.mark.parametrize("text", ["min(a, b)", "max(a, b)", "max(0, a)", "ceil(a)", "abs(-a)"])
    def test_functions_pass_the_unknown_on(self, text):
        assert math.isnan(number(text).value({"a": NAN, "b": 1.0}))

    @pytest.mark.parametrize("top", [1.0, 0.0, -1.0, NAN])
    def test_a_quotient_by_zero_cannot_be_worked_out(self, top):
        for kind in (float, np.float64, lambda x: np.array([x])):
            env = {"a": kind(top), "b": kind(0.0)}
            assert np.all(np.isnan(number("a / b").value(env)))
            assert np.all(np.isnan(truth("a / b <= 1").value(env)))
            assert np.all(np.isnan(truth("a / b <= 1").margins(env)))
            assert math.isnan(truth("a / b <= 1").governing(env).margin)

    def test_only_the_row_that_divides_by_zero_is_unknown(self):
        rows = number("a / b").value({"a": 6.0, "b": np.array([2.0, 0.0, 3.0])})
        assert rows[[0, 2]].tolist() == [3.0, 2.0]
        assert math.isnan(rows[1])

    def test_a_quotient_too_large_to_hold_is_unknown(self):
        assert math.isnan(number("a / b").value({"a": 1e300, "b": 1e-300}))
        assert np.isnan(number("a / b").value({"a": np.array([1e300]), "b": 1e-300})).all()


def _verdict(margin: float) -> float:
    return NAN if math.isnan(margin) else float(margin >= 0)


class TestMargins:
    @pytest.mark.parametrize(
        ("text", "a", "b", "margin"),
        [
            ("a >= b", 2200.0, 2000.0, 0.1),  # 200 / 2000
            ("a >= b", 1800.0, 2000.0, -0.1),
            ("a > b", 1800.0, 2000.0, -0.1),
            ("a <= b", 2200.0, 2000.0, -0.1),
            ("a <= b", 1800.0, 2000.0, 0.1),
            ("a < b", 1800.0, 2000.0, 0.1),
            ("a == b", 2200.0, 2000.0, -0.1),
            ("a == b", 1800.0, 2000.0, -0.1),
            ("a == b", 2000.0, 2000.0, 0.0),
            ("a >= b", -1.0, -2.0, 0.5),  # 1 / |-2|
            ("a >= b", 3.0, 0.0, 3.0),  # no limit to take a share of
            ("a <= b", 3.0, 0.0, -3.0),
            ("not a >= b", 2200.0, 2000.0, -0.1),
            ("not a == b", 2200.0, 2000.0, 0.1),
            ("not not a >= b", 2200.0, 2000.0, 0.1),
            # within the tolerance: never the sign of the wrong verdict
            ("a >= b", 2000.0 - 1e-7, 2000.0, 0.0),
            ("a <= b", 2000.0 + 1e-7, 2000.0, 0.0),
            ("a == b", 2000.0 + 1e-7, 2000.0, 0.0),
            # the exception: a strict operator at equality is not met, with margin 0
            ("a > b", 2000.0, 2000.0, 0.0),
            ("a < b", 2000.0 - 1e-7, 2000.0, 0.0),
            ("not a == b", 2000.0, 2000.0, 0.0),
        ],
    )
    def test_margin_of_one_comparison(self, text, a, b, margin):
        result = truth(text).margins({"a": a, "b": b})
        assert result == pytest.approx(margin, abs=1e-15)
        assert not (result == 0 and math.copysign(1, result) < 0), "no minus zero on the page"

    @pytest.mark.parametrize("text", ["a < b", "a <= b", "a == b", "not a < b", "not a == b"])
    def test_no_minus_zero_in_a_column(self, text):
        same = np.arange(1.0, 20.0)
        margins = truth(text).margins({"a": same, "b": same})
        assert not np.any(margins)
        assert not np.any(np.signbit(margins))

    def test_and_takes_the_worst_or_the_best(self):
        env = {"a": 12.0, "b": 10.0, "c": 9.0}
        assert truth("a >= b and c >= b").margins(env) == pytest.approx(-0.1)
        assert truth("a >= b or c >= b").margins(env) == pytest.approx(0.2)

    def test_rows(self):
        margins = truth("a >= b and p").margins(
            {"a": np.array([11.0, 9.0, NAN, 11.0]), "b": 10.0, "p": np.array([1.0, 1.0, 1.0, 0.0])}
        )
        assert margins == pytest.approx([0.1, -0.1, NAN, -math.inf], nan_ok=True)

    def test_a_number_has_no_margin(self):
        with pytest.raises(TypeError, match="`a` gives a number"):
            number("a").margins({"a": 1.0})
        with pytest.raises(TypeError, match="`a` gives a number"):
            number("a").governing({"a": 1.0})


class TestGoverning:
    def test_whole_record(self):
        formula = truth("p and (a + b) >= 2 * c")
        found = formula.governing({"p": 1.0, "a": 3.0, "b": 5.0, "c": 5.0})
        assert found == Governing(
            left="(a + b)",
            operator=">=",
            right="2 * c",
            left_value=8.0,
            right_value=10.0,
            margin=pytest.approx(-0.2),
            relative=True,
            row=0,
            names=frozenset({"a", "b", "c"}),
        )

    def test_a_sign_and_a_call_belong_to_the_side_they_stand_in(self):
        found = truth("(p or  -a  >= abs(b) / 2)").governing({"p": 0.0, "a": 3.0, "b": 5.0})
        assert (found.left, found.right) == ("-a", "abs(b) / 2")

    def test_chain_shows_the_value_against_the_limit_that_decides(self):
        chain = truth("a <= b <= c")
        low = chain.governing({"a": 10.0, "b": 8.0, "c": 15.0})
        high = chain.governing({"a": 10.0, "b": 18.0, "c": 15.0})
        assert (low.left, low.operator, low.right) == ("b", ">=", "a")
        assert (low.left_value, low.right_value) == (8.0, 10.0)
        assert low.margin == pytest.approx(-0.2)
        assert (high.left, high.operator, high.right) == ("b", "<=", "c")
        assert high.margin == pytest.approx(-0.2)

    @pytest.mark.parametrize(
        ("sign", "shown"), [("<", ">="), ("<=", ">"), (">", "<="), (">=", "<"), ("==", "!=")]
    )
    def test_not_turns_the_operator_round(self, sign, shown):
        found = truth(f"not (a {sign} b)").governing({"a": 1.0, "b": 2.0})
        assert found.operator == shown
        assert truth(f"not not (a {sign} b)").governing({"a": 1.0, "b": 2.0}).operator == sign

    def test_yes_no_leaf_tells_the_answer_and_the_answer_wanted(self):
        crossed = truth("p and a >= b").governing({"p": 0.0, "a": 3.0, "b": 5.0})
        assert (crossed.left, crossed.operator, crossed.right) == ("p", None, None)
        assert (crossed.left_value, crossed.right_value) == (0.0, 1.0)
        assert (crossed.margin, crossed.relative) == (-math.inf, False)
        gooseneck = truth("not (p)").governing({"p": 1.0})
        assert (gooseneck.left, gooseneck.left_value, gooseneck.right_value) == ("p", 1.0, 0.0)
        assert gooseneck.margin == -math.inf

    def test_a_yes_gives_way_to_the_comparison(self):
        assert truth("p and a >= b").governing({"p": 1.0, "a": 9.0, "b": 5.0}).left == "a"

    def test_limit_of_zero_is_not_relative(self):
        found = truth("a <= 0").governing({"a": 3.0})
        assert (found.margin, found.relative, found.right) == (-3.0, False, "0")

    @pytest.mark.parametrize(
        ("text", "env", "left"),
        [
            # and: failing before unknown before met
            ("a >= 1 and b >= 1", {"a": 0.0, "b": NAN}, "a"),
            ("a >= 1 and b >= 1", {"a": NAN, "b": 0.0}, "b"),
            ("a >= 1 and b >= 1", {"a": 2.0, "b": NAN}, "b"),
            ("a >= 1 and b >= 1", {"a": NAN, "b": NAN}, "a"),
            # or: met before unknown before failing
            ("a >= 1 or b >= 1", {"a": 2.0, "b": NAN}, "a"),
            ("a >= 1 or b >= 1", {"a": NAN, "b": 2.0}, "b"),
            ("a >= 1 or b >= 1", {"a": 0.0, "b": NAN}, "b"),
            # or: the nearer of two that fail; unless: what is asked, however near the exemption is
            ("a >= 1 or b >= 1", {"a": 0.1, "b": 0.9}, "b"),
            ("a >= 1 unless b >= 1", {"a": 0.1, "b": 0.9}, "a"),
            ("p unless b >= 1", {"p": 0.0, "b": 0.9}, "p"),
            ("a >= 1 unless b >= 1", {"a": 0.1, "b": 2.0}, "b"),
            ("a >= 1 unless b >= 1", {"a": 2.0, "b": 0.9}, "a"),
            ("a >= 1 unless b >= 1", {"a": 0.1, "b": NAN}, "b"),
            ("a >= 1 unless b >= 1", {"a": NAN, "b": 0.1}, "a"),
            # the same under a not, which makes the or an and
            ("not (a >= 1 or b >= 1)", {"a": 2.0, "b": NAN}, "a"),
            ("not (a >= 1 or b >= 1)", {"a": NAN, "b": 0.0}, "a"),
            # equality: both margins are 0, only the strict side is not met
            ("a >= 1 and b > 1", {"a": 1.0, "b": 1.0}, "b"),
            ("b > 1 and a >= 1", {"a": 1.0, "b": 1.0}, "b"),
            # nested: the best branch, and in it the worst leaf
            ("a >= 1 and b >= 1 or c >= 1", {"a": 0.9, "b": 0.8, "c": 0.1}, "b"),
        ],
    )
    def test_which_leaf(self, text, env, left):
        assert truth(text).governing(env).left == left

    @pytest.mark.parametrize(
        ("a", "row"),
        [
            ([12.0, 9.0, 8.0, 11.0], 2),
            ([12.0, NAN, 9.9, NAN], 2),
            ([12.0, NAN, 11.0, NAN], 1),
            ([12.0, 11.0, 11.0], 1),
            ([12.0, 9.0], 1),
            ([12.0], 0),
        ],
    )
    def test_worst_row(self, a, row):
        found = truth("a >= b").governing({"a": np.array(a), "b": 10.0})
        assert found.row == row
        assert found.left_value == pytest.approx(a[row], nan_ok=True)
        assert found.right_value == 10.0

    def test_no_rows_no_leaf(self):
        assert truth("a >= b").governing({"a": np.array([]), "b": 10.0}) is None


# --- random formulas against a naive reading of Python's own syntax tree -----------------------

_PY = {
    ast.Add: operator.add,
    ast.Sub: operator.sub,
    ast.Mult: operator.mul,
    ast.Gt: lambda left, right: left > right + _slack(left, right),
    ast.GtE: lambda left, right: left >= right - _slack(left, right),
    ast.Lt: lambda left, right: right > left + _slack(left, right),
    ast.LtE: lambda left, right: right >= left - _slack(left, right),
    ast.Eq: lambda left, right: abs(left - right) <= _slack(left, right),
}


def _slack(left, right):
    return 1e-9 * max(abs(left), abs(right))


def naive(node, env):
    """Value of one row; a number, True, False or None for not known."""
    if isinstance(node, ast.Constant):
        return float(node.value)
    if isinstance(node, ast.Name):
        value = env[node.id]
        if node.id in "pq":
            return None if math.isnan(value) else value == 1
        return None if math.isnan(value) else value
    if isinstance(node, ast.UnaryOp):
        value = naive(node.operand, env)
        if value is None:
            return None
        return not value if isinstance(node.op, ast.Not) else -value
    if isinstance(node, ast.BoolOp):
        values = [naive(value, env) for value in node.values]
        decisive = isinstance(node.op, ast.Or)
        if decisive in values:
            return decisive
        return None if None in values else not decisive
    if isinstance(node, ast.Compare):
        values = [naive(value, env) for value in (node.left, *node.comparators)]
        links = [
            None if left is None or right is None else bool(_PY[type(sign)](left, right))
            for left, sign, right in zip(values, node.ops, values[1:], strict=False)
        ]
        return False if False in links else None if None in links else True
    if isinstance(node, ast.Call):
        values = [naive(value, env) for value in node.args]
        return (
            None if None in values else {"min": min, "max": max, "abs": abs}[node.func.id](*values)
        )
    left, right = naive(node.left, env), naive(node.right, env)
    if left is None or right is None:
        return None
    if isinstance(node.op, ast.Div):
        return left / right if right else None
    return _PY[type(node.op)](left, right)


_NUMBERS = st.recursive(
    st.sampled_from(["a", "b", "c", "d", "0", "1", "2"]),
    lambda inner: st.one_of(
        st.tuples(inner, st.sampled_from("+-*/"), inner).map(" ".join),
        inner.map("({})".format),
        inner.map("-{}".format),
        inner.map("abs({})".format),
        st.tuples(st.sampled_from(["min", "max"]), inner, inner).map(
            lambda t: f"{t[0]}({t[1]}, {t[2]})"
        ),
    ),
    max_leaves=6,
)
_SIGNS = st.sampled_from(["<", "<=", ">", ">=", "=="])
_TRUTHS = st.recursive(
    st.one_of(
        st.sampled_from(["p", "q"]),
        st.tuples(_NUMBERS, _SIGNS, _NUMBERS).map(" ".join),
        st.tuples(_NUMBERS, _SIGNS, _NUMBERS, _SIGNS, _NUMBERS).map(" ".join),
    ),
    lambda inner: st.one_of(
        st.tuples(inner, st.sampled_from(["and", "or"]), inner).map(" ".join),
        inner.map("not {}".format),
        inner.map("({})".format),
    ),
    max_leaves=6,
)
# Whole numbers make equality common; their sums, products and quotients stay well clear of the
# tolerance, so that a last digit cannot turn the naive verdict. Half of the values are not stated.
_VALUES = st.sampled_from([*map(float, range(-4, 5)), *[NAN] * 9])
_ANSWERS = st.sampled_from([1.0, 0.0, NAN])


def _rows(count):
    columns = dict.fromkeys("abcd", _VALUES) | dict.fromkeys("pq", _ANSWERS)
    return st.fixed_dictionaries(
        {name: st.tuples(*[each] * count) for name, each in columns.items()}
    )


# Made once for each number of rows, as to make them for each example takes as long as the example.
_ROWS = st.one_of(*map(_rows, range(1, 5)))


def compiled_or_skipped(text, result):
    """Literal division by 0 is the one thing the random grammar writes that is refused."""
    try:
        return compile_formula(text, ABXY, result=result)
    except FormulaFaults as caught:
        assert {fault.found for fault in caught.faults} == {"nothing can be divided by 0"}  # noqa: PT017
        reject()


def row_of(rows, index):
    return {name: column[index] for name, column in rows.items()}


@settings(max_examples=300, deadline=None)
@given(_NUMBERS, _ROWS)
def test_numbers_agree_with_the_naive_reading(text, rows):
    formula = compiled_or_skipped(text, "number")
    count = len(rows["a"])
    arrays = {name: np.array(column) for name, column in rows.items()}
    column = np.broadcast_to(formula.value(arrays), count)
    for index in range(count):
        expected = naive(ast.parse(text, mode="eval").body, row_of(rows, index))
        expected = NAN if expected is None else expected
        single = formula.value(row_of(rows, index))
        assert single == pytest.approx(expected, rel=1e-12, abs=1e-12, nan_ok=True)
        assert column[index] == pytest.approx(single, rel=0, abs=0, nan_ok=True)


@settings(max_examples=500, deadline=None)
@given(_TRUTHS, _ROWS)
def test_truth_margin_and_leaf_agree_with_the_naive_reading(text, rows):
    formula = compiled_or_skipped(text, "truth")
    count = len(rows["a"])
    arrays = {name: np.array(column) for name, column in rows.items()}
    values = np.broadcast_to(formula.value(arrays), count)
    margins = np.broadcast_to(formula.margins(arrays), count)
    for index in range(count):
        env = row_of(rows, index)
        expected = naive(ast.parse(text, mode="eval").body, env)
        single = formula.value(env)
        assert single == pytest.approx(NAN if expected is None else float(expected), nan_ok=True)
        assert values[index] == pytest.approx(single, nan_ok=True)
        margin = formula.margins(env)
        assert margins[index] == pytest.approx(margin, rel=0, abs=0, nan_ok=True)
        found = formula.governing(env)
        assert found.margin == pytest.approx(margin, rel=0, abs=0, nan_ok=True)
        if expected is None:
            assert math.isnan(margin)
        elif margin != 0:
            assert (margin > 0) == expected
        else:
            # 0 is equality: met unless the leaf is strict
            assert expected == (found.operator in ("<=", ">=", "=="))

    worst = formula.governing(arrays)
    ranks = [0.5 if math.isnan(value) else value for value in values]
    assert ranks[worst.row] == min(ranks)
    rivals = [margin for margin, rank in zip(margins, ranks, strict=True) if rank == min(ranks)]
    if min(ranks) != 0.5:
        assert worst.margin == min(rivals)
