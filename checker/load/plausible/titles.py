"""Says in plain words what is doubtful, for counts and lists of many loads."""

from collections.abc import Mapping
from functools import cache
from typing import Final

from checker.load.plausible.doubts import DOUBTS
from checker.load.plausible.entry import Entry

_TITLES: Final[Mapping[str, str]] = {
    "limit-above-table": "working load limit far above the table of devices without a mark",
    "limit-above-a-third": "working load limit above a third of the breaking strength",
    "limit-above-a-third-of-nominal": "working load limit above a third of the nominal strength",
    "capacity-above-half": "lashing capacity above half of the breaking strength",
    "hand-tension-above-half": "standard hand tension above half of the lashing capacity",
    "hand-force-not-that-of-labels": "standard hand force above the standard hand tension",
    "pretension-above-limit": "tension of a tiedown above its working load limit",
    "stretch-above-half": "tiedown that stretches by more than half at its limit",
    "anchor-outside-deck": "anchor beside the deck",
    "anchor-ahead-of-deck": "anchor ahead of the deck",
    "anchor-past-deck": "anchor behind the deck",
    "wheels-outside-deck-front": "front wheels beside the deck",
    "wheels-outside-deck-rear": "rear wheels beside the deck",
    "articles-overlap": "articles in the same place",
    "cg-beside-article": "centre of gravity beside its article",
    "cg-above-article": "centre of gravity above its article",
    "attachment-behind-article": "attachment behind its article",
    "attachment-beside-article": "attachment beside its article",
    "attachment-above-article": "attachment above its article",
    "article-close-to-tow-vehicle": "article close to the tow vehicle",
    "axles-close": "axles too close to each other for their tyres",
    "axle-ahead-of-deck": "axle ahead of the deck",
    "deck-past-trailer": "deck longer than the trailer",
    "tongue-rating-above-half": "tongue rating above half of the coupler's rating",
    "level-deck-with-low-ball": "level deck with a ball off its height",
    "ball-ahead-of-axle": "ball ahead of the rear axle",
    "crooked-with-a-small-reading": "crooked trailer with a small reading",
    "farther-than-planned-speed": "trip farther than its speed and driving time allow",
    "check-past-the-end": "stop to check the load behind the end of the trip",
}
"""Of entries that compare figures, by name."""
_OWNERS: Final = {
    "articles": "an article",
    "tiedowns": "a tiedown",
    "trailer": "the trailer",
    "tow_vehicle": "the tow vehicle",
    "trip": "the trip",
}
_PARTS: Final = {
    "anchors": "anchor",
    "axles": "axle",
    "gcwr": "GCWR",
    "gvwr": "GVWR",
    "safety_chains": "safety chain",
    "count": "number",
    "tyres": "tyre number",
    "ball_behind_rear_axle": "distance of the ball behind the rear axle",
    "z": "height",
    "empty_cg_height": "height of the empty centre of gravity",
}


@cache
def doubt_title(name: str) -> str:
    """What is doubtful by the entry of this name, such as `speed of the trip unusually high`."""
    return _TITLES.get(name) or next(_beyond(each) for each in DOUBTS if each.name == name)


def _beyond(entry: Entry) -> str:
    """The words of an entry that only says that a figure is too low or too high."""
    owner, *inner = (part for part in entry.at.split(".") if part != "*")
    if inner[1:2] in (["front"], ["rear"]):
        inner = [f"{inner[1]}_axle", *inner[2:]]
    words = " ".join(_PARTS.get(part, part).replace("_", " ") for part in inner)
    if owner in _OWNERS:
        words += f" of {_OWNERS[owner]}"
    if len(entry.where) > 1:
        words += f" ({entry.where[0].partition(' is ')[2].replace('|', ', ')})"
    return f"{words} unusually {entry.name.rpartition('-')[2]}"
