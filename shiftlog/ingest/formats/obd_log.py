"""A text log of OBD-II requests and answers to columns, each answer at the time stamp of its line."""

from collections import Counter
from pathlib import Path

from shiftlog.errors import LogError
from shiftlog.ingest.formats.obd_lines import LineReader
from shiftlog.ingest.formats.obd_series import ObdColumns
from shiftlog.ingest.formats.stamps import split_stamp
from shiftlog.ingest.sheet import Sheet, sheet_of_series
from shiftlog.ingest.text_bytes import open_lines


def open_obd_log(path: Path, *, file: str) -> Sheet:
    """A log of requests and answers. LogError where no line has a time stamp, or no answer is one of service 01."""
    columns, reader, kinds = ObdColumns(), LineReader(), Counter()
    stamp, row = None, 0
    try:
        with open_lines(path, encoding="latin-1", newline="\n") as stream:
            for row, line in enumerate(stream, start=1):
                found = split_stamp(line)
                # An answer on a line of its own belongs to the stamp above it.
                stamp, text = (found, found.rest) if found is not None else (stamp, line)
                answers = reader.take(text.strip("\n"))
                if stamp is not None:
                    kinds[stamp.kind] += bool(answers)
                    for answer in answers:
                        columns.take(answer.unit, answer.payload, row=row, time=stamp.value)
    except OSError as error:
        raise LogError(f"{file}: cannot be read ({error.strerror}).") from None
    if stamp is None:
        raise LogError(
            f"{file}: answers of an OBD adapter, and none with a time stamp. Have the adapter's program write the time "
            "before each line, and record again."
        )
    series, remarks = columns.series(file)
    if not series:
        raise LogError(
            f"{file}: no answer of service 01 in {row} lines with engine speed (0C), vehicle speed (0D) or another "
            "figure that is known here. Have the adapter ask for 010C and 010D."
        )
    counts = {
        "requests without data": reader.empty,
        "lines that are no answer": reader.odd,
        "answers of which a frame is missing": reader.assembler.lost,
        "answers without a known figure": columns.other,
    }
    kind = kinds.most_common(1)[0][0]
    return sheet_of_series(
        series, mended={name: n for name, n in counts.items() if n}, remarks=tuple(remarks),
        time_header="time" if kind == "number" else "time [s]", time_is_text=kind == "clock",
    )  # fmt: skip
