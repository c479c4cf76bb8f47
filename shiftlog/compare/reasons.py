"""Reasons that say the same of several shifts, put together."""

import re
from collections.abc import Mapping

from shiftlog.model.told import Told, tell

_VARYING = re.compile(r"\d+(?:[.,]\d+)*|\b[RN]\b")


def merge_reasons(counted: Mapping[str | None, int]) -> list[tuple[str, int]]:
    """(reason, how many), the commonest first.

    Those that differ in a number or a gear only are one, told by the commonest of them with ``or alike``.
    """
    groups: dict[str, list[tuple[str, int]]] = {}
    for why, n in sorted(counted.items(), key=lambda pair: -pair[1]):
        groups.setdefault(_VARYING.sub("#", why or ""), []).append((why or "", n))
    merged = [
        (_or_alike(some[0][0]) if len(some) > 1 else some[0][0], sum(n for _, n in some)) for some in groups.values()
    ]
    return sorted(merged, key=lambda pair: -pair[1])


def _or_alike(why: str) -> Told:
    return tell("left.alike", f"{why}, or alike", why=why)
