"""What every measuring function gets to see."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from shiftlog.model.car import Car
from shiftlog.model.drive import Signals
from shiftlog.model.lever import LeverPath
from shiftlog.model.settings import Settings
from shiftlog.model.shift import Rejected, Shift


@dataclass(frozen=True, eq=False, kw_only=True)
class Scene:
    """A drive ready to be measured.

    path : the lever in gate mm, or None without a lever
    shifts : all of the drive, and rejected : what was taken for none, before anything is measured
    rpm_per_mps : engine speed over vehicle speed by gear, from the profile, else learnt from this drive
    typed_temp_c : gearbox temperature typed into drive.toml, or None
    """

    signals: Signals
    car: Car
    path: LeverPath | None
    settings: Settings
    rpm_per_mps: Mapping[str, float] = field(default_factory=dict)
    typed_temp_c: float | None = None
    shifts: tuple[Shift, ...] = ()
    rejected: tuple[Rejected, ...] = ()

    def why_no_accel(self, *places: str, lacks: str) -> str:
        """Why an accelerometer that sits at one of these places gives nothing; ``lacks`` where none sits there."""
        return next((self.signals.accel_why[place] for place in places if place in self.signals.accel_why), lacks)
