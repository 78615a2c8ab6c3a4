"""Named facts of a load: the names that rules may use, each with meaning, needs and source.

Importing the package fills the catalogue: each module adds the facts of one topic.
"""

from checker.facts import (
    articles,
    balance,
    carriage,
    coupling,
    dynamics,
    friction,
    holding,
    lashing_strength,
    ratings,
    restraint,
    size,
    standards_held,
    standards_sums,
    standards_tipping,
    stated,
    tiedown_parts,
    tiedown_ratings,
    tiedowns,
    tow_vehicle,
    trip,
    walkaround,
)

__all__ = [
    "articles",
    "balance",
    "carriage",
    "coupling",
    "dynamics",
    "friction",
    "holding",
    "lashing_strength",
    "ratings",
    "restraint",
    "size",
    "standards_held",
    "standards_sums",
    "standards_tipping",
    "stated",
    "tiedown_parts",
    "tiedown_ratings",
    "tiedowns",
    "tow_vehicle",
    "trip",
    "walkaround",
]
