"""How rarely a stretch in which no gear is engaged stands out as much as a push into gear: the bar of a grind."""

from dataclasses import dataclass

import numpy as np

from shiftlog.measure.scene import Scene
from shiftlog.measure.usual_sound import Usual
from shiftlog.signal.loudness import HOP_S, lasting_levels

FALSE_ALARMS = 0.01
"""Of windows as long as a push into gear, in which nothing is engaged, at the most so many may pass for a grind."""
TARGET = 0.005
"""The bar is set for less: of what is louder while gears go in than between them (a hand, a blow) nothing is learnt."""
LASTS, OUTLASTS = (4, 8, 16, 32), 32
"""A clash lasts: windows of 10 ms, 5 ms apart, so many side by side, that is for 25, 45, 85 or 165 ms; what goes on for
the last of them outlasts any blow, and need not be struck anew all the time."""
TEETH_FROM_HZ = 150.0
"""The shortest of these holds four teeth that pass at this tone; where the band begins lower, at standstill, four teeth
take longer, and so does one blow to fall silent in it."""
LEAST_DB = 4.0
"""However quiet the drive, less than this that lasts is no clash: expectations are off by 1 or 2 dB."""
EVERY_S, CALM_S, MOST = 0.2, 0.5, 600
LEAST, LEAST_STRUCK = 20, 12
NEAREST = 100
"""The bar is set by so many windows at least, the nearest in speed."""
SPEED_SHARE = 0.3
TAIL = 0.1
"""The loudest tenth, whose excess falls off exponentially, tells how far the rarest lie (extreme value theory: the
generalised Pareto distribution with shape 0)."""
STRUCK_DB = 9.0
"""A window with a blow from the road in it is held against others with a blow; below this it is calm."""
RINGS_S = 0.05
SPREAD_DB = 0.5
BEFORE, DURING = (-24, -4), (0, 30)
"""Windows before and in a push, from its first on: as long as neutral and a push usually last."""


@dataclass(frozen=True, eq=False, kw_only=True)
class Standing:
    """How a push stands out among stretches of its own length and speed.

    found : more than the bar of windows like it; alike : more than the bar of calm ones, so that only a blow from the
    road speaks against it; doubtful : more than nine in ten of them
    """

    found: bool
    alike: bool
    doubtful: bool


@dataclass(frozen=True, eq=False, kw_only=True)
class PseudoShifts:
    """Stretches in which nothing is engaged, cut anew as long as each push.

    firsts : (w,) index of their first windows; room : (w,) how many windows of quiet follow; speed_mps : (w,) or None
    levels, bare : for each of ``LASTS`` the level that lasts from each window on, as heard and without blows
    before_db : (w,) how far the moment before each stands out; goes_on : how much of that goes on into it, a share
    """

    usual: Usual
    firsts: np.ndarray
    room: np.ndarray
    speed_mps: np.ndarray | None
    levels: tuple[np.ndarray, ...]
    bare: tuple[np.ndarray, ...]
    before_db: np.ndarray
    goes_on: float

    def stand(
        self, push: slice, speed_mps: float | None, *, before_db: float | None = None, off_db: float = 0.0
    ) -> Standing | None:
        """How a push (a range of windows) stands out; None where too little is quiet to tell.

        before_db : how far the moment before it stands out, which was as rough, or None; the others are held against
        the moment before them likewise
        off_db : by how much more what is usual may be too low for this push
        """
        if before_db is not None:
            off_db = off_db + self.goes_on * before_db
        count = max(push.stop - push.start, LASTS[0])
        firsts = self.firsts[self.room >= count]
        struck = self._thuds(firsts, count) > STRUCK_DB
        calm = self._nearest(firsts[~struck], speed_mps)
        if calm.size < LEAST:
            return None
        own, shortest = np.array([push.start]), self._shortest(count)
        first = LASTS.index(shortest)
        loud = float(_highest(self.levels[first], own, count - shortest + 1)[0]) - off_db >= LEAST_DB
        carried_db = 0.0 if before_db is None else -self._carried(calm)
        over = _stands_over(self.levels, own, calm, count, off_db=off_db, shortest=shortest, more_db=carried_db)
        heard = loud and over > 1
        if float(self._thuds(own, count)[0]) <= STRUCK_DB:
            return Standing(found=heard, alike=heard, doubtful=over > 0)
        like = firsts[struck]
        if like.size < LEAST_STRUCK:
            bare = _stands_over(self.bare, own, calm, count, off_db=off_db, shortest=shortest, more_db=carried_db)
            return Standing(found=loud and bare > 1, alike=heard, doubtful=over > 0)
        harder_db = self._harder(own, like, count) - (0.0 if before_db is None else self._carried(like))
        over_like = _stands_over(self.levels, own, like, count, off_db=off_db, shortest=shortest, more_db=harder_db)
        return Standing(found=over_like > 1 and heard, alike=heard, doubtful=over > 0)

    @property
    def teeth_last(self) -> int:
        """So many windows side by side hold four teeth at the least."""
        return round(LASTS[0] * max(TEETH_FROM_HZ / self.usual.sound.low_hz, 1.0))

    def _shortest(self, count: int) -> int:
        """How many windows side by side a clash holds at least, as far as a push of ``count`` goes."""
        return max(lasts for lasts in LASTS if lasts <= count and (lasts == LASTS[0] or lasts < 2 * self.teeth_last))

    def _thuds(self, firsts: np.ndarray, count: int) -> np.ndarray:
        """The greatest blow in each window and just before it, (w,) [dB]."""
        before = round(RINGS_S / HOP_S)
        at = np.maximum(firsts[:, None] + np.arange(-before, count), 0)
        return self.usual.thud_db[np.minimum(at, self.usual.thud_db.size - 1)].max(axis=1)

    def _carried(self, firsts: np.ndarray) -> np.ndarray:
        """What of the moment before goes on into each window, (w,) [dB]."""
        return self.goes_on * self.before_db[np.searchsorted(self.firsts, firsts)]

    def _harder(self, own: np.ndarray, like: np.ndarray, count: int) -> np.ndarray:
        """By how much this blow is harder than each of those it is held against, (w,) [dB]."""
        return np.maximum(self._thuds(own, count)[0] - self._thuds(like, count), 0.0)

    def _nearest(self, firsts: np.ndarray, speed_mps: float | None) -> np.ndarray:
        if self.speed_mps is None or speed_mps is None or firsts.size <= NEAREST:
            return firsts
        apart = np.abs(self.speed_mps[np.searchsorted(self.firsts, firsts)] / max(speed_mps, 1.0) - 1)
        return firsts[apart <= max(SPEED_SHARE, float(np.sort(apart)[NEAREST - 1]))]


def cut_pseudo_shifts(usual: Usual, scene: Scene) -> PseudoShifts:
    """Begins at even distances wherever nothing is shifted."""
    sound, step = usual.sound, round(EVERY_S / HOP_S)
    whole = np.ones(sound.time_s.size, bool)
    for first_s, last_s in sound.spans:
        whole[sound.between(first_s - HOP_S / 2, first_s + CALM_S)] = False
        whole[sound.between(last_s - HOP_S, last_s + HOP_S)] = False
    free = usual.quiet & whole
    busy = np.append(np.flatnonzero(~free), free.size)
    firsts = np.flatnonzero(free)
    room = busy[np.searchsorted(busy, firsts)] - firsts
    keep = (firsts % step == 0) & (firsts + BEFORE[0] >= 0) & (room >= LASTS[0])
    firsts, room = firsts[keep], room[keep]
    thin = max(1, firsts.size // MOST)
    firsts, room = firsts[::thin], room[::thin]
    speed = scene.signals.vehicle_speed
    before_db, goes_on = _learn_carried(usual.stands_db, firsts)
    return PseudoShifts(
        usual=usual, firsts=firsts, room=room,
        speed_mps=None if speed is None else np.interp(sound.time_s[firsts], speed.time_s, speed.values),
        levels=tuple(
            lasting_levels(usual.stands_db if count < OUTLASTS else usual.heard_db, count) for count in LASTS
        ),
        bare=tuple(lasting_levels(usual.bare_db, count) for count in LASTS),
        before_db=before_db, goes_on=goes_on,
    )  # fmt: skip


def _learn_carried(stands_db: np.ndarray, firsts: np.ndarray) -> tuple[np.ndarray, float]:
    """How far the moment before each window stands out (w,), and how much of that goes on into it (regression)."""
    before, during = (
        np.median(stands_db[np.clip(firsts[:, None] + np.arange(a, b), 0, stands_db.size - 1)], axis=1)
        for a, b in (BEFORE, DURING)
    )
    if firsts.size < LEAST or not before.std():
        return before, 0.0
    return before, float(np.clip(np.polyfit(before, during, 1)[0], 0.0, 1.0))


def _stands_over(
    levels: tuple[np.ndarray, ...],
    own: np.ndarray,
    others: np.ndarray,
    count: int,
    *,
    off_db: float,
    shortest: int,
    more_db: np.ndarray | float = 0.0,
) -> float:
    """How far what lasts in a push stands over nine in ten of other windows (0) on the way to their bar (1).

    shortest : of ``LASTS``; more_db : added to each of the others
    """
    heights, theirs = [], []
    for lasts, level in zip(LASTS, levels, strict=True):
        if not shortest <= lasts <= count:
            continue
        mine, other = (_highest(level, firsts, count - lasts + 1) for firsts in (own, others))
        mine, other = mine - off_db, other + more_db
        from_db, spread_db = _tail(other)
        heights.append(float(mine[0] - from_db) / spread_db)
        theirs.append((other - from_db) / spread_db)
    from_height, bar = _bar(np.max(theirs, axis=0))
    return (max(heights) - from_height) / (bar - from_height)


def _bar(heights: np.ndarray) -> tuple[float, float]:
    """Where the loudest tenth begins, and what hardly any window exceeds.

    By extrapolation of the tail to ``TARGET``; where a hundred windows are there, of which a further one is the loudest
    once in a hundred times whatever their distribution, their loudest is enough.
    """
    from_height, spread = _tail(heights, least=1e-6)
    if heights.max() <= from_height:
        # Windows all alike, as a coarse sensor has them that rounds the road away: one spread over them then.
        return from_height, from_height + 1.0
    bar = from_height + spread * np.log(TAIL / TARGET)
    if heights.size >= 1 / FALSE_ALARMS - 1:
        bar = min(bar, float(heights.max()))
    return from_height, bar


def _highest(level: np.ndarray, firsts: np.ndarray, count: int) -> np.ndarray:
    at = np.minimum(firsts[:, None] + np.arange(count), level.size - 1)
    return level[at].max(axis=1)


def _tail(heights: np.ndarray, *, least: float = SPREAD_DB) -> tuple[float, float]:
    """Where the loudest tenth begins, and its mean excess, one standard error up for so few."""
    from_height = float(np.quantile(heights, 1 - TAIL))
    beyond = heights[heights > from_height] - from_height
    mean = float(beyond.mean()) * (1 + 1 / np.sqrt(beyond.size)) if beyond.size else 0.0
    return from_height, max(mean, least)
