"""Ratings on labels, as stated."""

import numpy as np

from checker.facts.catalogue import STATED, fact
from checker.facts.view import View
from checker.units.arithmetic import Number, is_none

for _rating, _label in (("rating", "receiver rating"), ("tongue_rating", "receiver tongue rating")):

    @fact(
        f"hitch.receiver_{_rating}",
        "load",
        _label,
        fields=("tow_vehicle.front_restoration",),
        instead=(
            f"tow_vehicle.receiver.{_rating}",
            f"tow_vehicle.receiver.distributing_{_rating}",
        ),
        source=STATED,
    )
    def receiver_rating(view: View, rating: str = _rating) -> Number:
        """The receiver's rating as used: weight-carrying, or with a distributing hitch."""
        receiver, restored = view.load.tow_vehicle.receiver, view.load.tow_vehicle.front_restoration
        carrying: Number = getattr(receiver, rating)
        distributing: Number = getattr(receiver, f"distributing_{rating}")
        used = np.where(np.equal(is_none(restored), 1), carrying, distributing)
        return np.where(np.isnan(restored), np.nan, used)[()]
