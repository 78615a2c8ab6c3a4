"""The documents that facts come from: the words by which a fact's source names each."""

from collections.abc import Mapping
from typing import Final

from checker.facts.catalogue import Fact

NAMED_AS: Final[Mapping[str, tuple[str, ...]]] = {
    "cfr-49-383": ("49 CFR 383",),
    "cfr-49-390-5-reprint": ("390.5",),
    "cfr-49-393": ("49 CFR 393",),
    "en-12195-1": ("EN 12195-1:2010 5.4.2", "EN 12195-1:2010 5.5", "EN 12195-1:2010 against"),
    "en-12195-1-from-memory": ("EN 12195-1:2010 5.2, from memory", "EN 12195-1:2010 5.4.3.1"),
    "en-12195-1-draft": ("the IRU's draft of 2009",),
    "gdv-load-securing-handbook": ("GDV",),
    "eu-directive-2014-47": ("Directive 2014/47/EU",),
    "au-direct-restraint-training": ("Load Restraint Guide 2018",),
    "au-tie-down-remembered": ("Load Restraint Guide, tie-down form",),
    "nz-truck-loading-code": ("Truck Loading Code",),
    "imo-load-securing": ("CTU Code", "CSS Code"),
}
"""By the id of a shipped document."""


def documents_of(fact: Fact) -> list[str]:
    """The ids of the documents that a fact's source names."""
    return [name for name, words in NAMED_AS.items() if any(each in fact.source for each in words)]
