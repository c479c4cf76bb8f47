"""Plate and VIN are masked wherever they stand, in what was typed and in names of files."""

import re
from dataclasses import dataclass

from shiftlog.model.job import Job

DOTS = "••••"
_VIN_LIKE = re.compile(
    r"(?<![A-Z0-9])(?=[A-HJ-NPR-Z0-9]*\d)(?=[A-HJ-NPR-Z0-9]*[A-Z])[A-HJ-NPR-Z0-9]{17}(?![A-Z0-9])", re.IGNORECASE
)
"""Seventeen letters and digits without I, O and Q (ISO 3779:2009); names of files write them small as well."""
_WORDLESS = 5
"""A plate of so many letters and digits is no part of a word: it is hidden within longer names too."""
_KEPT = 2


@dataclass(frozen=True, eq=False, kw_only=True)
class Mask:
    """patterns : what is hidden, each with the text that stands in its place"""

    patterns: tuple[tuple[re.Pattern[str], str], ...]

    def text(self, text: str) -> str:
        """The text with everything hidden that must be."""
        for pattern, instead in self.patterns:
            text = pattern.sub(instead, text)
        return text


def make_mask(job: Job | None, *, show: bool = False) -> Mask:
    """What hides the job's plate and VIN; nothing where they were asked for."""
    if show:
        return Mask(patterns=())
    known = [value for value in ((job.plate, job.vin) if job else ()) if re.sub(r"[\W_]", "", value)]
    own = tuple((_anyhow_written(value), hidden(value)) for value in known)
    return Mask(patterns=(*own, (_VIN_LIKE, DOTS)))


def hidden(value: str) -> str:
    """Dots, and the last two letters, so that the owner knows it again."""
    plain = re.sub(r"[\W_]", "", value)
    return DOTS + (plain[-_KEPT:] if len(plain) > 2 * _KEPT else "")


def _anyhow_written(value: str) -> re.Pattern[str]:
    """The value in capitals or not, with any spaces, dots, dashes or underscores between its letters."""
    letters = [re.escape(letter) for letter in re.sub(r"[\W_]", "", value)]
    written = r"[\W_]*".join(letters)
    alone = written if len(letters) >= _WORDLESS else rf"(?<![^\W_]){written}(?![^\W_])"
    return re.compile(alone, re.IGNORECASE)
