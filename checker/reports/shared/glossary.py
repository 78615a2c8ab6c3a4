"""The trade's words of a place in the printed words of a report.

Rules, facts and headings are written in American words. A reader elsewhere gets those of the place:
one table, applied to titles, advice and labels. What others wrote stays as it is: names, notes,
file names, field paths, rules of a company, citations.
"""

import re
from collections.abc import Mapping
from functools import cache
from typing import Final

from msgspec import Struct

from checker.facts.catalogue import Fact
from checker.facts.view import Subject
from checker.load.model import Load
from checker.rulebooks.jurisdictions import touches

_LASHING: Final = {"tiedown": "lashing", "tiedowns": "lashings"}
# The tongue by itself is the bar of the trailer, in these phrases what it weighs.
_TONGUE_WEIGHT: Final = {
    "tongue weight": "{}",
    "tongue rating": "{} rating",
    "tongue share": "{} share",
    "tongue as a share": "{} as a share",
    "tongue allows": "{} allows",
    "tongue too light": "{} too small",
    "tongue is too heavy": "{} is too much",
    "heaviest tongue": "greatest {}",
    "heavy tongue": "great {}",
    "light tongue": "small {}",
    "too light a tongue": "too small a {}",
    "rate the tongue": "rate the {}",
    "weigh the tongue": "measure the {}",
}


def _nose(word: str) -> Mapping[str, str]:
    """The words for what presses on the coupling, from the word for tongue weight."""
    weight = {phrase: form.format(word) for phrase, form in _TONGUE_WEIGHT.items()}
    return {**weight, "on the tongue": "on the coupling", "tongue": "drawbar"}


_EUROPE: Final = {**_LASHING, **_nose("coupling load"), "GVWR": "maximum mass"}
# Countries and islands of Europe outside the Union.
_REST_OF_EUROPE: Final = (
    *("AD", "AL", "BA", "BY", "CH", "FO", "IS", "LI", "MC", "MD"),
    *("ME", "MK", "NO", "RS", "SJ", "SM", "TR", "UA", "VA"),
)
_BRITAIN: Final = {
    **_LASHING,
    **_nose("nose weight"),
    "GVWR": "MAM",
    "GCWR": "GTW",
    "pickup": "pick-up",
}
WORDS_BY_PLACE: Final[Mapping[str, Mapping[str, str]]] = {
    **dict.fromkeys(("GB", "GG", "GI", "IM", "JE"), _BRITAIN),
    "IE": {**_LASHING, **_nose("nose weight"), "GVWR": "MAM"},
    "AU": {
        **_LASHING,
        **_nose("tow ball download"),
        "trailer's GVWR": "trailer's ATM",
        "trailer.gvwr": "ATM",
        "GVWR": "GVM",
        "GCWR": "GCM",
        "pickup": "ute",
    },
    "NZ": {**_LASHING, **_nose("tow ball weight"), "GVWR": "GVM", "pickup": "ute"},
    "DE": {**_EUROPE, "GVWR": "zGM"},
    "AT": {**_EUROPE, "GVWR": "zGM"},
    "FR": {**_EUROPE, "GVWR": "PTAC"},
    "NL": {**_EUROPE, "GVWR": "tmm"},
    "CA-QC": {"GVWR": "PNBV"},
    "EU": _EUROPE,
    **dict.fromkeys(_REST_OF_EUROPE, _EUROPE),
}
"""By place, the word for each American one; under the name of a fact the label of that fact.

Words for the rating of a label are those that the label has there.
"""


class Words(Struct, frozen=True):
    """Puts the words of a place into a text."""

    place: str | None
    terms: Mapping[str, str]
    pattern: re.Pattern[str] | None = None
    roots: tuple[str, ...] = ()
    """The terms that all others contain: a text without any of these has none of the others."""

    def __call__(self, text: str) -> str:
        """The text in the words of the place; quoted parts and names with marks stay."""
        folded = text.lower()
        # Most texts have none of the words, and looking for them is quicker than the pattern.
        if self.pattern is None or not any(each in folded for each in self.roots):
            return text
        return self.pattern.sub(self._term, text)

    def label(self, fact: Fact) -> str:
        """The label of a fact in the words of the place."""
        return self.terms.get(fact.name) or self(fact.label)

    def name(self, subject: Subject) -> str:
        """The name of a subject in the words of the place; what the crew called it stays."""
        if subject.each != "tiedown":
            return subject.name
        number, at, anchors = subject.name.partition(" at ")
        return self(number) + at + anchors

    def _term(self, found: re.Match[str]) -> str:
        word = found["term"]
        if word is None:
            return found[0]
        term = self.terms[word.lower()]
        if word.isupper() and word.lower() in _LASHING:
            return term.upper()
        return term[0].upper() + term[1:] if word[0].isupper() and term[1:].islower() else term


_AS_WRITTEN: Final = r"\"[^\"]*\"|`[^`]*`|\{[^{}]*\}"
"""What is quoted, and figures to be put in."""
_NO_PART_BEFORE: Final = r"(?<![\w*./-])"
_NO_PART_AFTER: Final = r"(?![\w*]|[./-][\w*])"
"""A term in a file name, a field path or an id is none."""


@cache
def _words(place: str | None) -> Words:
    terms = {
        american.lower(): word for american, word in WORDS_BY_PLACE.get(place or "", {}).items()
    }
    if not terms:
        return Words(None, {})
    longest_first = sorted(terms, key=len, reverse=True)
    spelt = "|".join(re.escape(each) for each in longest_first)
    term = rf"{_NO_PART_BEFORE}(?P<term>{spelt}){_NO_PART_AFTER}"
    pattern = re.compile(f"{_AS_WRITTEN}|{term}", re.IGNORECASE)
    roots = [each for each in terms if not any(other in each for other in terms if other != each)]
    return Words(place, terms, pattern, tuple(roots))


def words_of(load: Load) -> Words:
    """The words of the first place of a trip."""
    place = load.trip.places[0] if load.trip.places else None
    return words_of_place(place)


@cache
def words_of_place(place: str | None) -> Words:
    """The words of a place: its own, else of what it is a part of; American ones elsewhere."""
    if place is None:
        return _words(None)
    return _words(next((each for each in WORDS_BY_PLACE if touches(each, [place]) == 1), None))
