"""The text of a small rule, for tests that bring their own rulebook."""

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
