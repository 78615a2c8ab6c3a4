"""What the reader of a report must know about how a log was read, beside the rows refused."""

from dataclasses import dataclass, field

from checker.logs.left_out import LeftOutRows
from checker.logs.model import Batch, LogMapping
from checker.logs.two_readings import Readings, readings, refuse_contradicted


@dataclass(slots=True)
class Remarks:
    """The rows left out, and the days and figures that may be read in two ways."""

    left_out: LeftOutRows = field(default_factory=LeftOutRows)
    readings: dict[tuple[str, str], Readings] = field(default_factory=dict)
    """By key of the mapping file and header."""

    def merge(self, other: "Remarks") -> None:
        """Add the remarks about the rows that follow; `other` must not be used afterwards."""
        self.left_out.merge(other.left_out)
        for name, each in other.readings.items():
            if name in self.readings:
                self.readings[name].merge(each)
            else:
                self.readings[name] = each

    def refuse_contradicted(self, log: str) -> None:
        """Raise ProblemsFoundError if cells of the log contradict its mapping file.

        Only complete remarks, about all rows, can tell.
        """
        refuse_contradicted(log, self.readings.values())


def remarks_of(batch: Batch, mapping: LogMapping) -> Remarks:
    """The remarks about the rows of a batch."""
    remarks = Remarks()
    remarks.left_out.add(batch.left_out)
    remarks.readings = {(each.key, each.header): each for each in readings(batch, mapping)}
    return remarks
