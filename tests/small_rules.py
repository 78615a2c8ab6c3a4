"""The text of small rules, for tests that bring their own rulebook."""

from collections.abc import Mapping

_RULE = """
- id: {id}
  title: A rule
  question: {question}
  requires: {requires}
  {more}
  source: print
  at: "1"
  basis: law
  level: {level}
  because: it is so
  fix: mend it
  proofs: [{{name: a, given: {{}}, expect: not stated, origin: hand}}]
"""


def rule(
    requires: str,
    *,
    id: str = "one",  # noqa: A002 - the key of a rule
    level: str = "must",
    question: str = "limits",
    more: str = "",
) -> str:
    """A rule of law; `more` has its further lines, indented by two spaces."""
    return _RULE.format(id=id, requires=requires, level=level, question=question, more=more)


def threshold(value: str, *, starts: str = "2015-10-01", more: str = "") -> str:
    """The line of the thresholds of a rule with one `limit`; `more` has further keys of it."""
    return (
        "thresholds: {limit: {stricter: lower, values: "
        f"[{{value: {value}, from: {starts}, source: print, at: p. 1{more}}}]}}}}"
    )


def rules_text(formulas: Mapping[str, str]) -> str:
    """Rules by their ids, each a formula and, after semicolons, its `limit` and a word.

    Ids have dashes for underscores. Facts of articles, axles and tiedowns make a rule for each of
    them. All are must-rules about placement, unless the word is `should` or `walk-around`.
    """
    texts = []
    for name, text in formulas.items():
        requires, limit, word = ([part.strip() for part in text.split(";")] + ["", ""])[:3]
        more = []
        for each in ("article", "axle", "tiedown"):
            if f"{each}." in requires:
                more = [f"for_each: {each}"]
        if limit:
            more.append(threshold(limit))
        texts.append(
            rule(
                requires,
                id=name.replace("_", "-"),
                question="walk-around" if word == "walk-around" else "placement",
                level="should" if word == "should" else "must",
                more="\n  ".join(more),
            )
        )
    return "".join(texts)
