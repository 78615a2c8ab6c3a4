"""Templates with their comments turned into fields, for tests that need every field there is."""

import re
from collections.abc import Callable
from datetime import date
from functools import cache
from typing import TYPE_CHECKING, Any

import pytest

from checker.documents.document import Document
from checker.documents.reader import read_bytes
from checker.documents.schemas import PROFILE, families
from checker.upkeep.drafting.drafts import drafts
from checker.upkeep.drafting.fields import Field, field_of
from checker.upkeep.drafting.text import draft_text

if TYPE_CHECKING:
    from checker.upkeep.drafting.draft import Draft

DAY = date(2026, 6, 1)
KINDS = list(drafts(DAY))
PROFILE_KINDS = [kind for kind in KINDS if families()[kind] == PROFILE]


def uncommented(text: str) -> Document:
    """The template as if a crew had taken `# ` off every field."""
    fields = text[text.index("kind:") :]
    taken_off = [
        re.sub(r"^( *)# ", r"\1", line) for line in fields.split("\n") if not line.startswith("##")
    ]
    return read_bytes("\n".join(taken_off).encode(), "template")


def answered(field: Field, value: Any) -> Any:
    """The data with the first word, or a plain name, where the template leaves a choice open."""
    if isinstance(value, dict):
        return {key: answered(field.below(key), inner) for key, inner in value.items()}
    if isinstance(value, list):
        return [answered(field.below(index), inner) for index, inner in enumerate(value)]
    if value is not None:
        return value
    word: Any = (field.choices or ["2 in" if field.quantity == "length" else "front-left"])[0]
    if field.quantity == "count":
        return 2
    return [word] if "items" in field.node else word


@pytest.fixture(scope="session")
def every_field() -> Callable[[str], dict[str, Any]]:
    """Valid data of a kind with every field its template shows; not to be changed."""

    @cache
    def data(kind: str) -> dict[str, Any]:
        draft: Draft = drafts(DAY)[kind]
        document = uncommented(draft_text(draft, draft.stated))
        assert document.problems == []
        whole: dict[str, Any] = answered(field_of(kind), document.data)
        return whole

    return data
