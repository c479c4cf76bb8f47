"""Readings as the result document writes them: the figure by its key, and why, how sure and from where to where."""

import math
from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import Any

from shiftlog.errors import StoreError
from shiftlog.measure.catalogue import MEASURES
from shiftlog.model.reading import Reading, unmeasured

GRIND = {
    "found": "grind", "level_db": "grind_level_db", "duration_s": "grind_duration_s", "clash_match": "clash_match",
}  # fmt: skip
"""Figures that stand together under ``grind``, by their names there."""

BAND = ("band_low_hz", "band_high_hz")
"""Figures that stand together under ``band_hz``."""

BESIDE = dict.fromkeys(BAND, "band_hz") | {key: f"grind.{name}" for name, key in GRIND.items() if name != "found"}
"""What these figures are called where reasons and uncertainties stand."""

NOT_FINITE = "the computation gave no finite number: a fault of shiftlog itself, please report it"


def figures_to_plain(readings: Mapping[str, Reading], *, of: str) -> dict[str, Any]:
    """All figures of the catalogue for a ``shift`` or ``rest``, those not read with the reason.

    ValueError where a reading is not in the catalogue.
    """
    stray = [key for key in readings if key not in MEASURES]
    if stray:
        raise ValueError(f"readings that the catalogue lacks: {', '.join(stray)}")
    keys = dict.fromkeys([key for key, m in MEASURES.items() if m.of == of] + list(readings))
    known = [_finite(readings.get(key) or _absent(key)) for key in keys]
    return _together({r.key: _bare(r.value) for r in known}) | {
        "uncertainty": {_beside(r): float(r.uncertainty) for r in known if r.uncertainty is not None},
        "interval95": {_beside(r): [float(v) for v in r.interval95] for r in known if r.interval95 is not None},
        "unmeasured": {_beside(r): r.why for r in known if r.why is not None},
        "side": {_beside(r): r.side for r in known if r.side is not None},
    }


def plain_to_figures(plain: Mapping[str, Any], where: str, *, structure: Iterable[str]) -> dict[str, Reading]:
    """The readings of one shift or rest; ``structure`` names keys that are no readings. StoreError."""
    why = _object(plain, "unmeasured", where)
    uncertainty = _object(plain, "uncertainty", where)
    interval, side = _object(plain, "interval95", where), _object(plain, "side", where)
    figures = _apart(plain, where)
    keys = [key for key in figures if key in MEASURES and key not in set(structure)]
    read = {key: _reading(key, figures[key], why, uncertainty, interval, where) for key in keys}
    return {key: replace(r, side=side.get(_beside(r))) for key, r in read.items()}


def _together(figures: dict[str, Any]) -> dict[str, Any]:
    """Figures of a shift that belong together, under one key."""
    if not figures.keys() >= set(GRIND.values()) | set(BAND):
        return figures
    grind = {name: figures[key] for name, key in GRIND.items()}
    band = [figures[key] for key in BAND]
    bare = {key: value for key, value in figures.items() if key not in {*GRIND.values(), *BAND}}
    return bare | {"band_hz": None if None in band else band, "grind": grind}


def _apart(plain: Mapping[str, Any], where: str) -> dict[str, Any]:
    """The same figures, each by its own key."""
    figures = {key: value for key, value in plain.items() if key not in ("band_hz", "grind")}
    if "grind" in plain:
        grind = _object(plain, "grind", where)
        figures |= {key: grind.get(name) for name, key in GRIND.items()}
    if "band_hz" in plain:
        band = plain["band_hz"] or (None, None)
        figures |= dict(zip(BAND, band, strict=True))
    return figures


def _beside(reading: Reading) -> str:
    return BESIDE.get(reading.key, reading.key)


def _reading(key: str, value: Any, why: Mapping, uncertainty: Mapping, interval: Mapping, where: str) -> Reading:
    here = f"{where}.{key}".lstrip(".")
    if value is not None and not isinstance(value, bool | int | float):
        raise StoreError(f"{here}: a number, true, false or null is needed, not {value!r}")
    beside = BESIDE.get(key, key)
    if value is None and beside not in why:
        raise StoreError(f"{here}: is null, so unmeasured must say why")
    span = interval.get(beside)
    return Reading(
        key=key,
        value=value,
        why=why[beside] if value is None else None,
        uncertainty=uncertainty.get(beside),
        interval95=None if span is None else tuple(span),
    )


def _absent(key: str) -> Reading:
    return unmeasured(key, f"not measured here; it takes {MEASURES[key].needs}")


def _finite(reading: Reading) -> Reading:
    numbers = [reading.value, reading.uncertainty, *(reading.interval95 or ())]
    if all(math.isfinite(n) for n in numbers if n is not None):
        return reading
    return unmeasured(reading.key, NOT_FINITE)


def _bare(value: Any) -> bool | int | float | None:
    """The plain Python number of a numpy scalar, which JSON cannot write."""
    return value.item() if hasattr(value, "item") else value


def _object(plain: Mapping[str, Any], key: str, where: str) -> Mapping:
    value = plain.get(key) or {}
    if not isinstance(value, Mapping):
        raise StoreError(f"{where}.{key}: an object is needed, not {value!r}".lstrip("."))
    return value
