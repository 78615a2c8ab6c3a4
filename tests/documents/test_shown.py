"""JSON documents: the same bytes as Python's own writer gives, which earlier reports have."""

import json
import re
from typing import Any

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from checker.documents.escaping import json_text

NAMES = st.one_of(st.text(), st.integers(), st.booleans(), st.none(), st.floats(-1e300, 1e300))
LEAVES = st.one_of(
    st.none(),
    st.booleans(),
    st.integers(),
    st.floats(allow_nan=False, allow_infinity=False),
    st.text(),
)
DATA = st.recursive(
    LEAVES, lambda each: st.one_of(st.lists(each), st.dictionaries(NAMES, each)), max_leaves=20
)


@given(DATA)
@example([1e-07, 1e16, 1e22, 5e-324, -0.0, 0.1, 2**64, 10**30])
@example({"é\u2019\U0001f69c": '\x00\x1f\x7f\x80\u2028\n\r\t\b\f"\\/', "": [[], {}]})
@example(["\ud800", "\udcff", "\ud83d", "##[error]", "##vso[x]", "::error::"])
def test_json_text_is_python_s_own_with_escapes_for_what_would_act(data: Any) -> None:
    plain = json.dumps(data, indent=2, ensure_ascii=False, allow_nan=False)
    written = json_text(data)
    for line, wanted in zip(written.split("\n"), [*plain.split("\n"), ""], strict=True):
        assert line == wanted or not wanted.isprintable() or "##" in wanted
    # A byte that is not UTF-8 reads back as \xff; everything else reads back as itself.
    as_text = re.sub("[\udc80-\udcff]", lambda at: f"\\\\x{ord(at[0]) - 0xDC00:x}", plain)
    assert json.loads(written) == json.loads(as_text)


@pytest.mark.parametrize("number", [float("nan"), float("inf"), float("-inf")])
def test_json_text_refuses_numbers_that_json_does_not_have(number: float) -> None:
    with pytest.raises(ValueError, match="not JSON compliant"):
        json_text([number])
