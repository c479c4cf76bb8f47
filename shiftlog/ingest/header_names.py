"""A column's header taken apart: ``channel [unit]`` and its looser forms."""

import re
from dataclasses import dataclass

from shiftlog.ingest.channels import CHANNELS

_BRACKETS = re.compile(r"^(.*?)\s*[\[({]([^\])}]*)[\])}]\s*$")


@dataclass(frozen=True, kw_only=True)
class HeaderName:
    """A header's name and the unit that stands in brackets behind it, or None."""

    name: str
    unit: str | None


def split_header(header: str) -> HeaderName:
    """``Engine RPM [RPM]`` → ``Engine RPM``, ``RPM``; round and curly brackets alike."""
    match = _BRACKETS.match(header.strip())
    if match is None:
        return HeaderName(name=header.strip(), unit=None)
    return HeaderName(name=match.group(1).strip(), unit=match.group(2).strip() or None)


def plain_channel(name: str) -> str | None:
    """The channel whose own name this is, in any case, or None."""
    key = name.strip().lower()
    return key if key in CHANNELS else None
