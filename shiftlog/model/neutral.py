"""Where the lever rests, over one drive or several, and what a push straight in from there would mean."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from shiftlog.model.guided import GuidedResult
from shiftlog.model.reading import Reading
from shiftlog.model.rest import Rest
from shiftlog.model.share import Share


@dataclass(frozen=True, eq=False, kw_only=True)
class RestGroup:
    """Rests of one way of driving and one temperature band, outside bends.

    moving : ``standing`` | ``under way`` | ``not known``; band : ``cold`` | ``between`` | ``hot`` | ``not known``
    released, guided, unknown : how many; unmoved : those of the unknown to which the lever made no motion of its own
    wrong_plane : over released rests, or None with its reason in ``unmeasured``
    unmoved_elsewhere : how many of the unmoved lay out of the home plane; unmoved_apart_mm : how far those left on the
        right lie from those left on the left, medians, or None
    readings : ``offset_mm``, ``hysteresis_mm``, ``return_time_s``, ``frequency_hz``, ``damping``: medians over released
        rests with their uncertainty, or why not
    rests : all of the group, those in bends included
    manners : how often the lever swung home, ran in or crept, by ``model/rest.py``'s words
    """

    moving: str
    band: str
    released: int
    guided: int
    unknown: int
    unmoved: int
    unmoved_elsewhere: int
    unmoved_apart_mm: float | None
    in_bends: int
    wrong_plane: Share | None
    readings: Mapping[str, Reading]
    rests: tuple[Rest, ...]
    manners: Mapping[str, int] = field(default_factory=dict)
    unmeasured: Mapping[str, str] = field(default_factory=dict)

    def value(self, key: str) -> float | bool | None:
        """The value of one figure, or None where it is missing."""
        reading = self.readings.get(key)
        return None if reading is None else reading.value


@dataclass(frozen=True, eq=False, kw_only=True)
class Reach:
    """A gear that a straight push finds from a plane the lever was found resting in.

    rests : how many of them lay in that plane; home : whether it is the home plane
    over_rev_above_mps : vehicle speed above which the gear would turn the engine over the redline, or None
    rpm_at : engine speed [rpm] by the vehicle speeds asked for [m/s], None where the ratio is not known
    why : why engine speeds or the limit are None
    """

    plane: str
    home: bool
    gear: str
    rests: int
    rpm_per_mps: float | None
    over_rev_above_mps: float | None
    rpm_at: Mapping[float, float] = field(default_factory=dict)
    why: str | None = None


@dataclass(frozen=True, eq=False, kw_only=True)
class NearMiss:
    """A moment at which one straight push would have turned the engine over its redline.

    drive : its id; lay_s : how long the lever lay there; rpm : what the gear would have meant
    """

    drive: str
    at_s: float
    plane: str
    gear: str
    lay_s: float
    vehicle_speed_mps: float
    rpm: float
    released: bool | None


@dataclass(frozen=True, eq=False, kw_only=True)
class DriveTest:
    """A guided test and the drive that it is of, by its id."""

    drive: str
    test: GuidedResult


@dataclass(frozen=True, eq=False, kw_only=True)
class NeutralReport:
    """What drives of one car say of the lever in neutral.

    says : sentences a technician can act on, the answer first; fastest_mps : greatest speed driven, or None
    stays_on_the_way : how often the lever stood in neutral for a second or more on its way to another gear; such stays
        are pauses and no rests
    near_misses : all of them, the worst first; unchecked : why rests could not be held against the redline, or None
    """

    car: str
    drives: tuple[str, ...]
    home: str | None
    groups: tuple[RestGroup, ...]
    reach: tuple[Reach, ...]
    near_misses: tuple[NearMiss, ...]
    redline_rpm: float | None
    fastest_mps: float | None
    stays_on_the_way: int = 0
    unchecked: str | None = None
    tests: tuple[DriveTest, ...] = ()
    says: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
