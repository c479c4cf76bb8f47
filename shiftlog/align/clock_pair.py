"""Two tracks on two clocks: whether they are of one drive, and then how the clocks lie."""

import math

from shiftlog.align.clock_kinds import FINE_S, EvidenceKind
from shiftlog.align.clock_line import ClockLine
from shiftlog.align.clock_place import MOST_DRIFT, PlaceWeight, measure_place, weigh_place
from shiftlog.align.clock_slip import find_clock_jump
from shiftlog.align.clock_tracks import ClockTrack
from shiftlog.signal.even_band import EvenBand, take_band
from shiftlog.signal.lag_search import peak_evidence, search_lags

_RECEIVER_LAG_S = 0.4
"""Speed from satellites comes 0.2 to 1 s late (open logs), and nothing tells that from an offset."""

_CANDIDATES = 12
_WEIGHED = 5
_DOUBT = 7.0
"""The highest of the peaks of two different drives stands out by 5 in one pair of twenty, by 8 in one of sixty (random
drives of tests/truth/clock_study.py); those of one drive by 40 and more."""

_BAND_SHARE = 0.4
"""Of a recorder's rate, what it can be trusted up to."""


def match_pair(first: ClockTrack, second: ClockTrack, kind: EvidenceKind) -> ClockLine | None:
    """The best place of two tracks beside each other, or None where they have too little in common to tell."""
    coarse = _bands(first, second, kind, kind.coarse_hz)
    fine = _bands(first, second, kind, kind.fine_hz)
    if coarse is None or fine is None:
        return None
    places = search_lags(*coarse, most_drift=MOST_DRIFT, least_s=kind.least_s, count=_CANDIDATES, matched=kind.matched)
    weighed = [(weigh_place(*fine, place, kind), place) for place in places[:_WEIGHED]]
    judged = [(_odds(w, peak_evidence(places, place), kind), place) for w, place in weighed if w is not None]
    if not judged:
        return None
    judged.sort(key=lambda item: -item[0])
    odds, place = judged[0]
    rival = max([0.0, *(other for other, _ in judged[1:])])
    line, common_s = measure_place(*fine, place, kind)
    slip = find_clock_jump(coarse, fine, place, kind) if kind.tolerance_s <= FINE_S and odds > _DOUBT else None
    return ClockLine(
        at_first_s=fine[0].start_s + line.middle_s,
        at_second_s=fine[1].start_s + line.middle_s * (1 + place.drift) + place.lag_s + line.lag_s,
        drift=place.drift + line.drift,
        u_lag_s=math.hypot(line.u_lag_s, _u_latency_s(first, second, kind)),
        u_drift=line.u_drift,
        right=_logistic(odds - rival - _DOUBT),
        ceiling=kind.ceiling,
        tolerance_s=kind.tolerance_s,
        words=(_words(first, second, kind, common_s=common_s),),
        slipped_at_first_s=None if slip is None else fine[0].start_s + slip,
    )


def _odds(weight: PlaceWeight, peak: float, kind: EvidenceKind) -> float:
    """What windows and peak say together. Where milliseconds are claimed the windows must show them: the peak then
    adds no more than they do, and no place beside it may do as well."""
    if kind.tolerance_s <= FINE_S:
        return min(weight.windows + min(peak, weight.windows), weight.lobe)
    return weight.windows + peak


def _u_latency_s(first: ClockTrack, second: ClockTrack, kind: EvidenceKind) -> float:
    """What delays of the recorders themselves leave open, as a standard uncertainty [s]; a value that is renewed
    seldom is anything from new to a whole period old (JCGM 100, 4.3.7: period / √12)."""
    if kind.tolerance_s <= FINE_S:
        return kind.u_latency_s
    late = _RECEIVER_LAG_S if first.receiver or second.receiver else kind.u_latency_s
    return math.hypot(late, 1 / math.sqrt(12) / min(first.rate_hz, second.rate_hz))


def _words(first: ClockTrack, second: ClockTrack, kind: EvidenceKind, *, common_s: float) -> str:
    what = f"{kind.words} of {first.recording} and {second.recording} over {common_s:.0f} s"
    if first.receiver or second.receiver:
        return f"{what} (a receiver's speed comes 0.2 to 1 s late, which cannot be told from an offset)"
    if kind.first_slope or kind.second_slope or kind.matched:
        return f"{what} (a delay on the bus cannot be told from an offset)"
    return what


def _bands(
    first: ClockTrack, second: ClockTrack, kind: EvidenceKind, band_hz: tuple[float, float]
) -> tuple[EvenBand, EvenBand] | None:
    low, high = band_hz
    high = min(high, _BAND_SHARE * first.rate_hz, _BAND_SHARE * second.rate_hz)
    if high < 4 * low:
        return None
    return (
        _band(first, low, high, kind, slope=kind.first_slope),
        _band(second, low, high, kind, slope=kind.second_slope),
    )


def _band(track: ClockTrack, low: float, high: float, kind: EvidenceKind, *, slope: bool) -> EvenBand:
    return take_band(
        track.time_s,
        track.values,
        track.spans,
        low_hz=low,
        high_hz=high,
        rate_hz=2.56 * high,
        level_s=kind.level_s,
        slope=slope,
    )


def _logistic(x: float) -> float:
    return 1 / (1 + math.exp(-x)) if x > -700 else 0.0
