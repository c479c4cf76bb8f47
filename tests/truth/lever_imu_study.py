"""How good a lever from two motion sensors is: ``python -m tests.truth.lever_imu_study --drives 8 --minutes 10``.

Each drive is made with a motion sensor on the lever and one on the body, both mounted anyhow, with bias and noise; the
body's clock is laid wrong by up to 10 ms and 10 ppm, as a match by signals may leave it.
"""

import argparse
from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from shiftlog.align.lever_angles import LeverAngles, trace_lever_angles
from shiftlog.detect.gates import fit_gate_map, map_to_gate
from shiftlog.errors import ShiftlogError
from shiftlog.model.drive import ClockMatch, Drive, Mounting, Placed
from shiftlog.model.gate import GateMap
from shiftlog.pipeline import measure_drive
from shiftlog.synth.cars import CARS
from shiftlog.synth.recorder import Sensors, SynthRecording
from shiftlog.synth.scenario import SynthDrive, make_drive
from tests.made_recording import make_recording
from tests.truth.tally import Tally, score

HEALTHS = ("healthy", "worn", "sick")


@dataclass(frozen=True, kw_only=True)
class Case:
    """One drive of the study; the same case gives the same drive."""

    seed: int
    car: str
    road: str
    health: str
    minutes: float
    sensors: Sensors
    clock_error_s: float
    drift_ppm: float
    mounting_known: bool

    def make(self) -> SynthDrive:
        """The drive."""
        return make_drive(
            car=self.car, seed=self.seed, road=self.road, health=self.health, minutes=self.minutes,
            sensors=self.sensors,
        )  # fmt: skip


def cases(count: int, *, first_seed: int = 0, minutes: float = 4.0) -> Iterator[Case]:
    """Cases in turn over cars and roads; every other one with the body's mounting known."""
    for seed in range(first_seed, first_seed + count):
        rng = np.random.default_rng([seed, 31])
        yield Case(
            seed=seed, car=list(CARS)[seed % len(CARS)], road=("smooth", "rough")[seed % 2],
            health=HEALTHS[(seed // 2) % 3], minutes=minutes, sensors=_draw_sensors(rng),
            clock_error_s=rng.uniform(-0.01, 0.01), drift_ppm=rng.uniform(-10, 10), mounting_known=seed % 4 < 2,
        )  # fmt: skip


def _draw_sensors(rng: np.random.Generator) -> Sensors:
    length_mm = rng.uniform(160, 390)
    return Sensors(
        lever_rate_hz=None, gearbox_rate_hz=None, lever_imu_rate_hz=200.0, lever_length_mm=length_mm,
        body_rate_hz=float(rng.choice([100.0, 200.0])), lever_imu_height_mm=0.7 * length_mm, gyro_noise=0.005,
        gyro_bias_dps=1.0, accel_bias=0.2, lever_imu_turn_deg=_any_way(rng), body_turn_deg=_any_way(rng),
    )  # fmt: skip


def _any_way(rng: np.random.Generator) -> tuple[float, float, float]:
    return tuple(float(a) for a in rng.uniform((-180, -80, -180), (180, 80, 180)))


def place(
    recording: SynthRecording, *, clock_error_s: float = 0.0, drift_ppm: float = 0.0, mounting_known: bool = True
) -> Placed:
    """A made recording on drive time, its clock laid wrong by so much at the start and so much more as it goes on."""
    time_s = recording.time_s * (1 + drift_ppm * 1e-6) + clock_error_s
    made = make_recording(
        recording.name, time_s, recording.columns, place=recording.place, clock=recording.clock, with_limits=True
    )
    return Placed(
        recording=made, clock=ClockMatch(offset_s=0.0, drift_ppm=0.0, how="matched", confidence=1.0),
        mounting=Mounting(rotation=recording.true_mounting if mounting_known else None, how="declared"),
    )  # fmt: skip


def place_all(drive: SynthDrive, case: Case) -> tuple[Placed, ...]:
    """The lever's sensor, whose clock is drive time, and the body's."""
    by_place = {r.place: r for r in drive.recordings}
    body = place(
        by_place["body"], clock_error_s=case.clock_error_s, drift_ppm=case.drift_ppm,
        mounting_known=case.mounting_known,
    )  # fmt: skip
    return place(by_place["lever"]), body


def measure_angles(drive: SynthDrive, case: Case) -> LeverAngles:
    """The lever's angles of a made drive, which has all it takes."""
    angles = trace_lever_angles(place_all(drive, case))
    assert angles is not None
    return angles


def with_angles(drive: SynthDrive, angles: LeverAngles) -> Drive:
    """The drive with its lever from two motion sensors."""
    signals = replace(drive.signals(), lever=angles.trace, lever_grows=angles.grows, lever_u=angles.u_deg)
    return replace(drive.as_drive(), signals=signals)


def lever_errors_mm(drive: SynthDrive, angles: LeverAngles, gate: GateMap) -> np.ndarray:
    """Distance of each reading from the true path [mm], (n,)."""
    found = map_to_gate(gate, angles.trace.values)
    path = np.stack([np.interp(angles.trace.time_s, drive.lever.time_s, c) for c in drive.lever.path.T], axis=1)
    return np.linalg.norm(found - path, axis=1)


def study_case(case: Case) -> tuple[Tally, str]:
    """One drive measured and held against its truth, and a line about it."""
    drive = case.make()
    name = f"seed {case.seed} {case.car} {case.road} {case.health}"
    try:
        angles = measure_angles(drive, case)
        gate = fit_gate_map(with_angles(drive, angles).signals, drive.car)
    except ShiftlogError as why:
        return score(drive.truth, (), (), name=name), f"{name}: {why}"
    result = measure_drive(with_angles(drive, angles))
    tally = score(drive.truth, result.shifts, result.rests, name=name)
    errors = lever_errors_mm(drive, angles, gate)
    tally.errors["lever_mm"] = [float(np.median(errors))]
    told = (
        f"{name}: lever {np.median(errors):.2f} mm median, {np.percentile(errors, 95):.2f} p95, good for "
        f"{gate.slow_mm:.2f} mm ({angles.u_deg:.3f} deg), lever {case.sensors.lever_length_mm:.0f} mm, map "
        f"{gate.orientation}, shifts {tally.counts['shifts matched']} of {tally.counts['shifts true']}"
    )
    return tally, told


def main() -> None:
    """Read the command line, study, print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--drives", type=int, default=8)
    parser.add_argument("--first-seed", type=int, default=0)
    parser.add_argument("--minutes", type=float, default=10.0)
    parser.add_argument("--misses", type=int, default=0)
    args = parser.parse_args()
    whole = Tally()
    for case in cases(args.drives, first_seed=args.first_seed, minutes=args.minutes):
        tally, told = study_case(case)
        whole.add(tally)
        print(told, flush=True)
    for what, part, of in (
        ("shifts found", "shifts matched", "shifts true"), ("from and to", "from and to right", "from and to judged"),
        ("outcome", "outcome right", "outcome judged"), ("rests found", "rests matched", "rests true"),
        ("plane", "plane right", "plane judged"), ("released", "released right", "released judged"),
    ):  # fmt: skip
        print(f"{what:<20}{whole.share(part, of):.4f} of {whole.counts[of]}")
    print(f"{'invented':<20}{whole.counts['shifts found'] - whole.counts['shifts matched']}")
    for key, errors in sorted(whole.errors.items()):
        print(f"{key:<28}median {np.median(errors):.4f}  p95 {np.percentile(errors, 95):.4f}")
    for line in sorted(whole.misses)[: args.misses]:
        print(line)


if __name__ == "__main__":
    main()
