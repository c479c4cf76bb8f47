"""Which of the rates that a burst allows it was: all tries of a test together, as a shaft let go only loses speed."""

from collections.abc import Sequence

import numpy as np

from shiftlog.guided.burst import Burst
from shiftlog.model.reading import K95
from shiftlog.signal.falling_tone import FallingTone

LEAST_STRENGTH, FAST_STRENGTH = 10.0, 30.0
"""Bursts of known rate below these gave wrong ones at times, above them none that was off by a tenth."""
FAST_HZ = 180.0
"""Blows that come faster ring into one another, so that loudness hardly swings."""
LEAST_BLOWS = 6.0
"""Fewer blows of random size may be any train of blows."""
SURE = 0.9
"""The likeliest rate is told where it has this share of all."""
SLACK = 1.1
"""Between two tries idle and a foot on the pedal are not quite alike."""
RISES = 0.02
"""How seldom a shaft turns faster after a longer wait: where the pedal did not go down alike."""
SUDDEN_SHARE, LEAST_APART_S = 0.85, 0.3
"""Drag that eases as the shaft slows, and a clutch that drives it, make it lose less and less: it never comes much
below the line through two tries before, if they are so far apart."""
SUDDEN = "the rate heard is lower than a shaft can have fallen to since the tries before: the speed is not told"
UNCLEAR = "the burst holds no clear rate of teeth: they met too few times, or too softly, to tell how fast it turned"


def settle_tones(bursts: Sequence[Burst], waits_s: Sequence[float]) -> list[FallingTone | str]:
    """The tone of each burst that grinds, or why none is told."""
    settled: list[FallingTone | str] = [burst.why or UNCLEAR for burst in bursts]
    clear = [k for k, burst in enumerate(bursts) if burst.tones and _is_clear(burst.tones[0])]
    clear.sort(key=lambda k: waits_s[k])
    for k, share in zip(clear, _shares([bursts[k].tones for k in clear]), strict=True):
        settled[k] = _tell(bursts[k], share)
    return _without_sudden(settled, waits_s)


def _without_sudden(settled: list[FallingTone | str], waits_s: Sequence[float]) -> list[FallingTone | str]:
    """What falls faster than it did before is a part of the rate, such as its half."""
    kept: list[tuple[float, float]] = []
    for k in sorted(range(len(settled)), key=lambda k: waits_s[k]):
        tone = settled[k]
        if isinstance(tone, str):
            continue
        if tone.from_hz + K95 * tone.u_hz < SUDDEN_SHARE * _least_hz(kept[-2:], waits_s[k]):
            settled[k] = SUDDEN
        else:
            kept.append((waits_s[k], tone.from_hz))
    return settled


def _least_hz(before: Sequence[tuple[float, float]], wait_s: float) -> float:
    """On the line through two tries before, (wait [s], rate [Hz]); 0 where it is not known."""
    if len(before) < 2 or before[1][0] - before[0][0] < LEAST_APART_S:
        return 0.0
    (first_s, first_hz), (second_s, second_hz) = before
    falls_hzps = min((second_hz - first_hz) / (second_s - first_s), 0.0)
    return second_hz + falls_hzps * (wait_s - second_s)


def count_blows(tone: FallingTone, lasts_s: float) -> float:
    """How many blows a burst of this length holds at this rate."""
    return max((tone.from_hz - tone.fall_hzps * lasts_s / 2) * lasts_s, 0.0)


def _is_clear(tone: FallingTone) -> bool:
    return tone.strength >= (LEAST_STRENGTH if tone.from_hz < FAST_HZ else FAST_STRENGTH)


def _shares(tones: Sequence[tuple[FallingTone, ...]]) -> list[np.ndarray]:
    """Probability of each rate of each burst, in the order of waits, given all others (a chain, both ways)."""
    alone = [np.array([tone.weight for tone in some]) for some in tones]
    links = [_links(earlier, later) for earlier, later in zip(tones[:-1], tones[1:], strict=True)]
    ahead, behind = list(alone), [np.ones(some.size) for some in alone]
    for k, link in enumerate(links):
        ahead[k + 1] = _whole(alone[k + 1] * (ahead[k] @ link))
    for k in range(len(links) - 1, -1, -1):
        behind[k] = _whole(links[k] @ (alone[k + 1] * behind[k + 1]))
    return [_whole(a * b) for a, b in zip(ahead, behind, strict=True)]


def _links(earlier: Sequence[FallingTone], later: Sequence[FallingTone]) -> np.ndarray:
    """(n, m): 1 where the speed after the longer wait is no higher, else how seldom that is."""
    before, after = (np.array([tone.from_hz for tone in some]) for some in (earlier, later))
    return np.where(after[None, :] <= SLACK * before[:, None], 1.0, RISES)


def _whole(shares: np.ndarray) -> np.ndarray:
    return shares / shares.sum()


def _tell(burst: Burst, shares: np.ndarray) -> FallingTone | str:
    order = np.argsort(-shares)
    best = burst.tones[int(order[0])]
    if shares[order[0]] < SURE:
        other = burst.tones[int(order[1])]
        return (
            f"two rates of teeth explain the burst about as well, {best.from_hz:.0f} and {other.from_hz:.0f} a second: "
            "the speed is not told"
        )
    if not _is_clear(best):
        return UNCLEAR
    if count_blows(best, burst.lasts_s) < LEAST_BLOWS:
        return "the teeth met too few times to tell how fast the shaft still turned"
    return best
