"""Which machine fits which trailer, as a document."""

from typing import Final

from msgspec import Struct

from checker.reports.shared.json_document import record_document
from checker.reports.shared.wall_chart import Cell, Chart, Part

KIND: Final = "wall-chart"


class Document(Struct, frozen=True):
    """Which machine fits which trailer with the gear at hand."""

    on: str
    """Day whose rules count."""
    taken: tuple[str, ...]
    """What all pairs have in common, in words."""
    machines: tuple[Part, ...]
    """The machines."""
    trailers: tuple[Part, ...]
    """The trailers."""
    tow_vehicles: tuple[Part, ...]
    """The tow vehicles; empty where all pairs have that of the base load."""
    pairs: tuple[Cell, ...]
    """Every machine on every trailer, behind every tow vehicle."""


def document(chart: Chart) -> str:
    """The chart as a document."""
    return record_document(
        KIND,
        Document(
            chart.day,
            chart.taken,
            chart.machines,
            chart.trailers,
            chart.tow_vehicles,
            chart.cells,
        ),
    )
