"""Every kind of file that can be drafted."""

from collections.abc import Mapping
from datetime import date

from checker.documents.document import Data
from checker.upkeep.drafting.asked import ASKED_IF, asked_for
from checker.upkeep.drafting.draft import CHOSEN, Draft
from checker.upkeep.drafting.outlines import (
    CARRIER,
    GEAR,
    LOAD,
    MACHINE,
    TIEDOWN,
    TOW_VEHICLE,
    TRAILER,
)
from checker.upkeep.drafting.rule_file_drafts import rule_file_drafts
from checker.upkeep.drafting.rulebook_draft import rulebook_draft


def drafts(day: date) -> Mapping[str, Draft]:
    """Every kind of draft by name; `day` is the first day of a new rule file."""
    return {
        "load": _profile(
            "load",
            LOAD,
            "A load: what goes where, held how, on which trip. It refers to files below the folder",
            "`profiles`, written without .yaml; fields beside `from` replace those of that file.",
        ),
        "trailer": _profile(
            "trailer",
            TRAILER,
            "A trailer. Park it level. x runs rearward from the middle of the coupler ball, y to",
            "the left seen in driving direction (right is negative), z up from the deck.",
        ),
        "tow-vehicle": _profile(
            "tow-vehicle",
            TOW_VEHICLE,
            "A tow vehicle. Weigh each axle without the trailer, with the people, fuel and tools",
            "it hauls with.",
        ),
        "machine": _profile(
            "machine",
            MACHINE,
            "A machine or other article. Measure from its own front end, y to its own left. State",
            "`axles` or `cg.x`, whichever you have. Weigh it as carried.",
        ),
        "tiedown": _profile(
            "tiedown",
            TIEDOWN,
            "One kind of strap, chain or rope: what is marked on it, its hooks and its tensioner.",
            "Where it runs is said in each load.",
        ),
        "carrier": _profile(
            "carrier", CARRIER, "Who hauls. The answers decide which rules bind the crew."
        ),
        "gear": _profile(
            "gear",
            GEAR,
            "What a crew carries to tie loads down with: an entry for each kind and length of",
            "strap or chain, and for each kind of chock. Count what is fit for use.",
        ),
        "rulebook": rulebook_draft(day),
        **rule_file_drafts(day),
        "settings": Draft(
            kind="settings",
            opening=(
                "What every cinchbook command uses in this folder and below it. Rules of your own:",
                "make a folder our-rules, run `cinchbook draft rulebook our-rules/rules.yaml`,",
                "and add our-rules to `rules`.",
                "To state a field, take `# ` off its line.",
            ),
            stated={"kind": "settings", "rules": ["shipped"]},
            outline={"rules": CHOSEN},
            every_field=True,
            questions={"units": CHOSEN},
        ),
    }


def _profile(kind: str, outline: dict[str, Data], *opening: str) -> Draft:
    title = f"New {kind.replace('-', ' ')}"
    return Draft(
        kind=kind,
        opening=(
            *opening,
            "To state a field, take `# ` off its line and off those it stands under, and put in",
            "what you found: the figures only show how to write one. A line left as it is counts",
            "as not stated, which is never zero, never no and never a pass.",
        ),
        stated={"kind": kind, "title": title},
        outline={"title": CHOSEN, **outline},
        every_field=True,
        questions={"title": CHOSEN, **asked_for(outline)},
        conditions=ASKED_IF.get(kind, {}),
    )
