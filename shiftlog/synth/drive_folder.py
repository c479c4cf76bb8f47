"""A synthesised drive as a folder on disk: drive.toml, car.toml and the logs as recorders write them."""

import json
from pathlib import Path

import numpy as np
import pandas as pd

from shiftlog.model.car import Car
from shiftlog.model.drive import MarkedTest
from shiftlog.synth.recorder import SynthRecording

UNITS = {
    "select": "count",
    "engage": "count",
    "engine_speed": "rpm",
    "vehicle_speed": "km/h",
    "throttle": "%",
    "clutch": "",
}
FORMATS = {"accel": ("m/s^2", 1.0, 3), "gyro": ("rad/s", 1.0, 4)}


def write_recording(recording: SynthRecording, folder: Path) -> None:
    """One CSV with headers ``channel [unit]``, named after the recording."""
    table = {"time [s]": np.round(recording.recorder_time_s, 6)}
    for name, values in recording.columns.items():
        header, scaled = _as_logged(name, values)
        table[header] = scaled
    pd.DataFrame(table).to_csv(folder / f"{recording.name}.csv", index=False)


def _as_logged(name: str, values: np.ndarray) -> tuple[str, np.ndarray]:
    kind = name.split("_")[0]
    if kind in FORMATS:
        unit, factor, digits = FORMATS[kind]
        return f"{name} [{unit}]", np.round(values * factor, digits)
    factor = {"vehicle_speed": 3.6, "throttle": 100.0}.get(name, 1.0)
    digits = {"vehicle_speed": 2, "throttle": 1, "engine_speed": 2}.get(name)
    scaled = np.round(values * factor, digits) if digits else values.astype(int)
    unit = UNITS[name]
    return (f"{name} [{unit}]" if unit else name), scaled


def write_drive_file(
    recordings: tuple[SynthRecording, ...],
    folder: Path,
    *,
    profile: str,
    head: dict[str, object],
    tests: tuple[MarkedTest, ...] = (),
) -> None:
    """drive.toml: what the drive was, and each recording with its place, clock and mounting."""
    lines = ["format = 1", "", "[drive]"]
    lines += [f"{key} = {_toml(value)}" for key, value in head.items()]
    lines += ["", "[car]", f"profile = {_toml(profile)}"]
    for recording in recordings:
        lines += ["", *_recording_lines(recording)]
    for test in tests:
        lines += ["", "[[test]]", f"kind = {_toml(test.kind)}"]
        lines += [f"start_s = {test.start_s:.3f}", f"end_s = {test.end_s:.3f}"]
        lines.append(f"configuration = {_toml(test.configuration or 'complete')}")
    (folder / "drive.toml").write_text("\n".join(lines) + "\n", encoding="utf-8")


def _recording_lines(recording: SynthRecording) -> list[str]:
    name = recording.name
    lines = ["[[recording]]", f"name = {_toml(name)}", f"file = {_toml(name + '.csv')}"]
    lines += [f"place = {_toml(recording.place)}", f"clock = {_toml(recording.clock)}"]
    if recording.clock != "logger" and recording.clock_declared:
        lines.append(f"clock_offset_s = {recording.offset_s:.6f}")
    if recording.mounting is not None:
        rows = [[round(float(v), 9) for v in row] for row in recording.mounting]
        lines.append(f"mounting = {json.dumps(rows)}")
    if recording.calibration is not None:
        lines.append("[recording.calibration]")
        lines.append(f"gain = {recording.calibration.gain:g}")
        lines.append(f"bias_mps2 = {recording.calibration.bias_mps2:g}")
    if recording.grows:
        lines.append("[recording.columns]")
        for channel, way in recording.grows.items():
            column = f"{channel} [{UNITS[channel]}]"
            lines.append(
                f"{channel} = {{ column = {_toml(column)}, unit = {_toml(UNITS[channel])}, grows = {_toml(way)} }}"
            )
    return lines


def write_car(car: Car, path: Path) -> None:
    """car.toml, the profile as the drive format has it."""
    gate = car.gate
    lines = ["format = 1", "[car]", f"name = {_toml(car.name)}"]
    if car.redline_rpm:
        lines.append(f"redline_rpm = {car.redline_rpm:g}")
    if car.ratios:
        lines += ["[gearbox]", f"final_drive = {_toml(dict(car.final_drive))}"]
        lines += [f"ratios = {_toml(dict(car.ratios))}", f"dog_teeth = {_toml(dict(car.dog_teeth))}"]
        lines += [f"hub = {_toml(dict(car.hub))}"] if car.hub else []
    if car.rolling_radius_m:
        lines += ["[tyre]", f"rolling_radius_m = {car.rolling_radius_m:g}"]
    planes = [{k: g for k, g in (("forward", p.forward), ("rear", p.rear)) if g} for p in gate.planes]
    lines += ["[gate]", f"planes = [ {', '.join(_toml(p) for p in planes)} ]"]
    lines.append(f"home = {_toml(gate.home or 'none')}")
    if gate.lockout:
        lines.append(f"lockout = {_toml(gate.lockout)}")
    lines += [f"plane_pitch_mm = {gate.plane_pitch_mm:g}", f"engage_travel_mm = {gate.engage_travel_mm:g}"]
    if car.cables:
        lines += ["[cables]", *(f"{key} = {_toml(value)}" for key, value in car.cables.items())]
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")


def _toml(value: object) -> str:
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{json.dumps(str(k))} = {_toml(v)}" for k, v in value.items()) + " }"
    if isinstance(value, bool):
        return "true" if value else "false"
    return f"{value:g}" if isinstance(value, float) else json.dumps(value, ensure_ascii=False)
