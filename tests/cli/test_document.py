"""The result document: every field, its type and meaning, on drives with every sensor and with few."""

import json
import math

import pytest

NUMBER, TEXT, FLAG = (int, float), str, bool
ANY = object


def maybe(*kinds):
    return (*[k for kind in kinds for k in (kind if isinstance(kind, tuple) else (kind,))], type(None))


DOCUMENT = {
    "format": int, "drive": TEXT, "stage": maybe(TEXT), "car": TEXT, "driver": maybe(TEXT), "started": maybe(TEXT),
    "shiftlog": TEXT, "settings": dict, "inputs": list, "clock": dict, "recordings": list, "gate": maybe(dict),
    "shifts": list, "rests": list, "rejected": list, "summary": dict, "findings": list,
}  # fmt: skip
RECORDING = {
    "name": TEXT, "place": TEXT, "rate_hz": NUMBER, "jitter_s": NUMBER, "samples": int, "duration_s": NUMBER,
    "gaps": list, "dropped": int, "mended": dict, "clipped": int, "noise_mps2": maybe(NUMBER),
    "bandwidth_hz": maybe(NUMBER), "clock": dict, "latency": list, "mounting": dict, "can_measure": list,
    "cannot_measure": list,
}  # fmt: skip
LACK = {"measure": TEXT, "why": TEXT, "mend": maybe(TEXT), "kind": TEXT, "declare": maybe(TEXT)}
CLOCK = {"offset_s": maybe(NUMBER), "drift_ppm": maybe(NUMBER), "how": TEXT, "confidence": maybe(NUMBER)}
MOUNTING = {"rotation": maybe(list), "how": TEXT, "confidence": maybe(NUMBER), "slipped_at_s": maybe(NUMBER)}
GATE = {"map": dict, "orientation": TEXT, "scale": TEXT, "seats": list}
SEAT = {"gear": TEXT, "select_mm": NUMBER, "engage_mm": NUMBER, "spread_mm": maybe(NUMBER), "stays": int}
FIGURES = (
    "shift_time_s", "neutral_time_s", "baulk_time_s", "drive_gap_s", "engine_speed_rpm", "vehicle_speed_mps",
    "gearbox_temp_c", "approach_speed_mmps", "rev_mismatch_rpm", "knock_peak_mps2", "knock_energy_m2s3",
    "jerk_p2p_mps3", "shuffle_hz", "shuffle_damping", "shuffle_amplitude_mps2", "vdv_mps175", "mtvv_mps2",
)  # fmt: skip
SHIFT = {
    "number": int, "from": maybe(TEXT), "to": maybe(TEXT), "via": list, "start_s": NUMBER, "out_s": maybe(NUMBER),
    "in_s": maybe(NUMBER), "end_s": maybe(NUMBER), "baulk": list, "gap_start_s": maybe(NUMBER),
    "gap_end_s": maybe(NUMBER), "attempts": maybe(int), "paused": maybe(FLAG), "outcome": maybe(TEXT),
    "over_rev": maybe(FLAG), "did_over_rev": maybe(FLAG), "band_hz": maybe(list), "grind": dict,
    "uncertainty": dict, "interval95": dict, "unmeasured": dict, **dict.fromkeys(FIGURES, maybe(NUMBER)),
}  # fmt: skip
GRIND = {
    "found": maybe(FLAG), "level_db": maybe(NUMBER), "duration_s": maybe(NUMBER), "clash_match": maybe(NUMBER)
}  # fmt: skip
REST = {
    "start_s": NUMBER, "end_s": NUMBER, "select_mm": NUMBER, "engage_mm": NUMBER, "offset_mm": maybe(NUMBER),
    "plane": TEXT, "released": maybe(FLAG), "came_from": maybe(TEXT), "vehicle_speed_mps": maybe(NUMBER),
    "return_time_s": maybe(NUMBER), "overshoot": maybe(NUMBER), "frequency_hz": maybe(NUMBER),
    "damping": maybe(NUMBER), "over_rev_if": dict,
}  # fmt: skip
REJECTED = {"start_s": NUMBER, "end_s": NUMBER, "kind": TEXT, "why": TEXT}
SUMMARY = {"wrong_plane": maybe(dict), "hysteresis_mm": maybe(NUMBER)}
SHARE = {"k": int, "n": int, "low": NUMBER, "high": NUMBER}
ROW = {
    "measure": TEXT, "group": TEXT, "drives_before": int, "drives_after": int, "n_before": int, "n_after": int,
    "before": maybe(NUMBER), "after": maybe(NUMBER), "difference": maybe(NUMBER), "ci_low": maybe(NUMBER),
    "ci_high": maybe(NUMBER), "p": maybe(NUMBER), "p_corrected": maybe(NUMBER), "cliffs_delta": maybe(NUMBER),
    "smallest_change": maybe(NUMBER), "margin": maybe(NUMBER), "unit": TEXT, "better": maybe(TEXT),
    "df": maybe(NUMBER), "method": TEXT, "left_out": dict, "more_drives": maybe(int), "verdict": TEXT,
    "provisional": FLAG, "why": TEXT,
}  # fmt: skip
VERDICTS = {"better", "worse", "same", "unclear", "too_few"}


def has_shape(plain, shape, where):
    for key, kinds in shape.items():
        assert key in plain, f"{where} lacks {key}"
        value, kinds = plain[key], kinds if isinstance(kinds, tuple) else (kinds,)
        # True is an int to Python and a word of its own to JSON.
        fits = bool in kinds if isinstance(value, bool) else isinstance(value, kinds)
        assert fits, f"{where}.{key} is {value!r}"


def no_word_for_numbers(word):
    raise AssertionError(f"{word} is no RFC 8259 JSON")


def read(text):
    return json.loads(text, parse_constant=no_word_for_numbers)


@pytest.fixture(scope="module")
def full(run, full_drive):
    said = run("measure", full_drive, "--json", "-")
    assert said.returncode == 0, said.stderr
    return read(said.stdout)


@pytest.fixture(scope="module")
def two_clocks(run, drive_on_two_clocks):
    said = run("measure", drive_on_two_clocks, "--json", "-")
    assert said.returncode == 0, said.stderr
    assert len(said.stderr.splitlines()) == 1 and "phone: not placed" in said.stderr
    return read(said.stdout)


@pytest.fixture(params=["full", "two_clocks"])
def document(request):
    return request.getfixturevalue(request.param)


def test_every_field_is_there_with_its_type(document):
    has_shape(document, DOCUMENT, "document")
    assert document["format"] == 1
    has_shape(document["clock"], {"recording": TEXT, "zero": NUMBER}, "clock")
    has_shape(document["gate"], GATE, "gate")
    has_shape(document["summary"], SUMMARY, "summary")
    assert document["shifts"] and document["rests"]
    for name, shape in (("shifts", SHIFT), ("rests", REST), ("rejected", REJECTED), ("recordings", RECORDING)):
        for number, item in enumerate(document[name]):
            has_shape(item, shape, f"{name}[{number}]")
    for part in document["inputs"]:
        has_shape(part, {"file": TEXT, "sha256": TEXT, "bytes": int}, "inputs")
    for seat in document["gate"]["seats"]:
        has_shape(seat, SEAT, "seats")
    for recording in document["recordings"]:
        has_shape(recording["clock"], CLOCK, "clock")
        has_shape(recording["mounting"], MOUNTING, "mounting")
        for cannot in recording["cannot_measure"]:
            has_shape(cannot, LACK, "cannot_measure")
    for shift in document["shifts"]:
        has_shape(shift["grind"], GRIND, "grind")
    if document["summary"]["wrong_plane"]:
        has_shape(document["summary"]["wrong_plane"], SHARE, "wrong_plane")


def test_every_figure_that_is_missing_says_why(document):
    for shift in document["shifts"]:
        grind = {k: "grind" if k == "found" else f"grind.{k}" for k in GRIND if shift["grind"][k] is None}
        missing = {k for k in SHIFT if shift[k] is None} | set(grind.values())
        assert missing <= set(shift["unmeasured"]), f"shift {shift['number']}"
        assert not {k for k in set(shift["unmeasured"]) - missing if not k.startswith("grind") and shift[k] is not None}
    for rest in document["rests"]:
        # Whether a lever was let go, and from which side it came, can be unknown without a reading being missing.
        missing = {k for k in REST if rest[k] is None} - {"released", "came_from"}
        assert missing <= set(rest["unmeasured"])
    reasons = [why for item in (*document["shifts"], *document["rests"]) for why in item["unmeasured"].values()]
    assert reasons and all(isinstance(why, str) and why.strip() for why in reasons)


def test_the_times_of_a_shift_are_those_of_its_instants(full):
    timed = [s for s in full["shifts"] if s["shift_time_s"] is not None]
    assert timed
    for shift in timed:
        assert shift["shift_time_s"] == pytest.approx(shift["end_s"] - shift["start_s"], abs=1e-9)
        if shift["neutral_time_s"] is not None:
            assert shift["neutral_time_s"] == pytest.approx(shift["in_s"] - shift["out_s"], abs=1e-9)
        baulk = sum(end - start for start, end in shift["baulk"])
        assert shift["baulk_time_s"] == pytest.approx(baulk, abs=1e-9)
    gaps = [s for s in full["shifts"] if s["drive_gap_s"] is not None]
    assert gaps
    for shift in gaps:
        assert shift["drive_gap_s"] == pytest.approx(shift["gap_end_s"] - shift["gap_start_s"], abs=1e-9)


def test_intervals_hold_their_figure(full):
    held = [(_figure(shift, key), *span) for shift in full["shifts"] for key, span in shift["interval95"].items()]
    assert held
    assert all(low <= value <= high for value, low, high in held)
    assert all(u >= 0 and math.isfinite(u) for shift in full["shifts"] for u in shift["uncertainty"].values())


def _figure(shift: dict, key: str) -> float:
    """A figure of a shift; those of a grind stand together and are called grind.name."""
    group, _, name = key.rpartition(".")
    return shift[group][name] if group else shift[key]


def test_clocks_and_mountings_are_those_declared(full):
    by_name = {r["name"]: r for r in full["recordings"]}
    # The drive's own file declares 24.087678 s for the phone and no offset for the lever, whose zero is the drive's.
    assert full["clock"]["recording"] == "lever"
    assert by_name["lever"]["clock"]["offset_s"] == full["clock"]["zero"]
    assert by_name["phone"]["clock"] == {**by_name["phone"]["clock"], "offset_s": 24.087678, "how": "declared"}
    # As declared to nine digits; rows are made unit vectors on the way in.
    assert by_name["phone"]["mounting"]["rotation"][0] == pytest.approx([0.0, 1.0, 0.0], abs=1e-9)
    assert by_name["lever"]["mounting"]["rotation"] is None
    assert (full["drive"], full["stage"], full["driver"]) == ("full", "before", "B")


def test_a_recording_on_an_unknown_clock_is_listed_as_not_placed(two_clocks):
    phone = next(r for r in two_clocks["recordings"] if r["name"] == "phone")
    assert (phone["clock"]["offset_s"], phone["clock"]["drift_ppm"]) == (None, None)
    assert phone["clock"]["how"] == "not placed"
    assert phone["can_measure"] == [] and phone["cannot_measure"]
    assert all(shift["drive_gap_s"] is None for shift in two_clocks["shifts"])


def test_a_file_and_standard_output_hold_the_same_bytes(run, make_drive, tmp_path):
    drive, target = make_drive(), tmp_path / "out.json"
    assert run("measure", drive, "--json", target).returncode == 0
    assert run("measure", drive / "drive.toml", "--json", "-").stdout == target.read_text(encoding="utf-8")


@pytest.mark.parametrize("names", [["one"], ["one", "two"], ["one", "bad"]])
def test_a_list_is_written_where_more_than_one_drive_was_asked_for(run, make_drive, names):
    drives = [make_drive(name, **({"rows": ["0,1,1"]} if name == "bad" else {})) for name in names]
    document = read(run("measure", *drives, "--json", "-").stdout)
    if len(names) == 1:
        assert document["drive"] == "one"
    else:
        assert [d["drive"] for d in document] == [n for n in names if n != "bad"]


def test_a_comparison_has_every_field_with_its_type(run, full_drive, drive_on_two_clocks):
    said = run("compare", "--before", full_drive, "--after", drive_on_two_clocks, "--json", "-")
    assert said.returncode == 0, said.stderr
    document = read(said.stdout)
    has_shape(document, {"format": int, "before": list, "after": list, "caveats": list, "rows": list}, "comparison")
    assert (document["format"], document["before"], document["after"]) == (1, ["full"], ["two"])
    assert document["rows"]
    for row in document["rows"]:
        has_shape(row, ROW, row["measure"])
        has_shape(row["left_out"], {"before": int, "after": int, "why": list}, "left_out")
        assert row["verdict"] in VERDICTS
        assert (row["ci_low"] is None) == (row["ci_high"] is None)
