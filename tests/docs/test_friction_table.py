"""The table of named surfaces in the guide is the one that is calculated with."""

from checker.documents.resources import shipped_folder
from checker.mechanics.standards.friction import NAMED_PAIRS


def test_the_guide_prints_every_line_of_the_friction_tables() -> None:
    guide = (shipped_folder("profiles") / "README.md").read_text(encoding="utf-8")
    for name, pair in NAMED_PAIRS.items():
        dry, wet = ("" if figure != figure else f"{figure:g}" for figure in (pair.dry, pair.wet))
        assert f"| `{name}` | {dry} | {wet} | {pair.status} |" in guide
