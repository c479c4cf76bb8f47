"""Answers of control units, one after the other, to one series for each figure."""

from array import array
from collections import Counter
from dataclasses import dataclass, field

import numpy as np

from shiftlog.ingest.obd import PIDS, decode_payload
from shiftlog.ingest.sheet import Series


@dataclass
class _Column:
    row: array = field(default_factory=lambda: array("q"))
    time: array = field(default_factory=lambda: array("d"))
    value: array = field(default_factory=lambda: array("d"))


@dataclass
class ObdColumns:
    """Figures so far, by control unit and PID; ``other`` : answers without a figure that is known here."""

    columns: dict[tuple[str, int], _Column] = field(default_factory=dict)
    other: int = 0

    def take(self, unit: str, payload: bytes, *, row: int, time: float) -> None:
        """One answer, of service 01."""
        readings = decode_payload(payload)
        self.other += not readings
        for reading in readings:
            column = self.columns.setdefault((unit, reading.pid), _Column())
            column.row.append(row)
            column.time.append(time)
            column.value.append(reading.value)

    def series(self, file: str) -> tuple[list[Series], list[str]]:
        """A series for each figure, from the control unit that answered most, and what is to be said of the others."""
        counts = Counter({key: len(column.row) for key, column in self.columns.items()})
        series, remarks = [], []
        for pid in PIDS:
            units = sorted((unit for unit, number in counts if number == pid), key=lambda u: (-counts[u, pid], u))
            if not units:
                continue
            column = self.columns[units[0], pid]
            named = PIDS[pid]
            series.append(
                Series(
                    header=f"{named.name} [{named.unit}]", row=np.array(column.row, dtype=np.int64),
                    time=np.array(column.time), values=np.array(column.value),
                )
            )  # fmt: skip
            if len(units) > 1:
                remarks.append(f"{file}: {named.name} was answered by {' and '.join(units)}; taken from {units[0]}.")
        return series, remarks
