"""Subjects of the law of each place of a trip that no rulebook in force holds."""

from collections.abc import Iterable, Mapping, Sequence
from typing import Final

import numpy as np
from numpy.typing import NDArray

from checker.rulebooks.jurisdictions import has_law, touches
from checker.rulebooks.model import Rulebook

SUBJECTS: Final = (
    "load securement",
    "projecting loads",
    "coupling",
    "safety chains",
    "trailer brakes",
    "breakaway",
    "lamps",
    "tyres",
    "width",
    "height and length",
    "weight",
    "towing speed",
    "driver licence",
)
"""What the law of a place rules on for a trailer with its load."""

Flags = NDArray[np.bool_]


def unread_subjects(
    places: Sequence[str] | None, in_force: Iterable[tuple[Rulebook, Flags]]
) -> Mapping[str, Mapping[str, Flags]]:
    """By place and subject, the rows of a load for which no rulebook holds the subject.

    `in_force` has the rows in which each rulebook applies, or may apply. Subjects that a rulebook
    holds in every row are left out.
    """
    read = [(book, rows) for book, rows in in_force if has_law(book.jurisdiction)]
    found: dict[str, dict[str, Flags]] = {}
    for place in dict.fromkeys(places or ()):
        here = [(book, rows) for book, rows in read if touches(book.jurisdiction, [place]) == 1]
        for subject in SUBJECTS:
            unread: Flags = np.ones(1, dtype=bool)
            for book, rows in here:
                if subject in book.subjects:
                    unread = unread & ~rows
            if unread.any():
                found.setdefault(place, {})[subject] = unread
    return found
