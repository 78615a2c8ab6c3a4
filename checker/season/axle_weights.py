"""Scales the axle weights of an article with the weight that a haul states.

A machine with more fuel or mud is heavier on both axles. If a haul states the weight of an article
and no axle weight, the axle weights of the profile are scaled with the weight, and its centre of
gravity stays where it is. If a haul states an axle weight, it must agree with the weight, as in a
profile.
"""

import re
from collections.abc import Mapping
from dataclasses import replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from checker.evaluation.rule_rows import collapse, expand, take
from checker.season.logs.columns import column_of
from checker.season.logs.decode import Figures
from checker.season.logs.model import Column
from checker.season.profile_figures import ProfileFigure, ProfileFigures
from checker.season.table import Table

_WEIGHT: Final = re.compile(r"(articles\.[0-9]+\.)(?:axles\.(?:front|rear)\.)?weight")

Following = Mapping[Column, NDArray[np.bool_]]
"""For each axle-weight column, True for hauls that state no axle weight of that article."""


def scale_axle_weights(
    table: Table, profiles: ProfileFigures, load_of: NDArray[np.intp]
) -> tuple[Table, Following]:
    """The table with scaled axle weights, and which hauls have them in each column."""
    found = (_WEIGHT.fullmatch(column.field) for column in table.figures)
    articles = dict.fromkeys(match[1] for match in found if match)
    figures = dict(table.figures)
    following: dict[Column, NDArray[np.bool_]] = {}
    for article in articles:
        axles = [column_of(f"{article}axles.{end}.weight") for end in ("front", "rear")]
        stated = [~np.isnan(figures[axle].values) for axle in axles if axle in figures]
        follows = ~np.logical_or.reduce([np.zeros(len(table.rows), dtype=bool), *stated])
        share = _weight_ratio(column_of(f"{article}weight"), table, profiles, load_of)
        if share is None:
            continue
        for axle in axles:
            own = profiles[axle]
            if axle in figures or not np.isnan(own.values).all():
                following[axle] = follows
                scale = np.where(follows, share, np.nan)
                figures[axle] = _scale(figures.get(axle), own, scale, load_of)
    return replace(table, figures=figures), following


def _weight_ratio(
    weight: Column, table: Table, profiles: ProfileFigures, load_of: NDArray[np.intp]
) -> NDArray[np.float64] | None:
    """Stated weight of each haul divided by that of its profile; 1 if the haul states none.

    None if no haul or no profile states the weight.
    """
    own = profiles[weight].values
    if weight not in table.figures or np.isnan(own).all():
        return None
    stated = table.figures[weight].values
    return np.where(np.isnan(stated), 1.0, stated / take(own, load_of))


def _scale(
    stated: Figures | None,
    own: ProfileFigure,
    scale: NDArray[np.float64],
    load_of: NDArray[np.intp],
) -> Figures:
    """The axle weight of the profiles times `scale`; the stated one where `scale` is NaN."""
    hauls = len(scale)
    values = take(own.values, load_of) * scale
    halves = np.nan_to_num(take(own.halves, load_of) * scale)
    metric = np.full(hauls, own.metric)
    if stated is not None:
        states = np.isnan(scale)
        values = np.where(states, stated.values, values)
        halves = np.where(states, expand(stated.halves, hauls), halves)
        metric = np.where(states, expand(stated.metric, hauls), metric)
    return Figures(values, collapse(halves), collapse(metric))
