"""Logs of GPS receivers: NMEA sentences and GPX tracks."""

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from shiftlog.errors import LogError
from shiftlog.ingest.columns import ColumnWish
from shiftlog.ingest.formats.gpx_points import GpxFault, read_points
from shiftlog.ingest.formats.nmea_sentence import SENTENCE, checksum, parse_sentence
from shiftlog.ingest.log_file import LogRequest, read_log
from shiftlog.ingest.positions import find_speeds
from shiftlog.model.recording import Recording
from shiftlog.units import MPS_PER_KNOT


@pytest.fixture
def read(tmp_path: Path) -> Callable[..., Recording]:
    def write_and_read(content: str | bytes, name: str = "gps.nmea", **more: object) -> Recording:
        path = tmp_path / name
        path.write_bytes(content if isinstance(content, bytes) else content.encode())
        return read_log(LogRequest(path=path, file=name, name="gps", place="body", clock="gps", **more))

    return write_and_read


def sentence(body: str) -> str:
    return f"${body}*{checksum(body):02X}"


def rmc(second: float, knots: float, *, date: str = "230394", status: str = "A", talker: str = "GN") -> str:
    day = second % 86400
    clock = f"{int(day // 3600):02d}{int(day % 3600 // 60):02d}{day % 60:05.2f}"
    return sentence(f"{talker}RMC,{clock},{status},4807.038,N,01131.000,W,{knots:05.1f},084.4,{date},003.1,W,A")


def gga(second: float, *, quality: int = 1) -> str:
    clock = f"{int(second // 3600):02d}{int(second % 3600 // 60):02d}{second % 60:05.2f}"
    return sentence(f"GPGGA,{clock},4807.{int(second) % 60:02d}0,S,01131.000,E,{quality},08,0.9,545.4,M,46.9,M,,")


def test_speed_place_and_time(read) -> None:
    lines = [text for k in range(20) for text in (rmc(43200 + k * 0.2, 20 + k), gga(43200 + k * 0.2))]
    recording = read("\r\n".join(lines))
    assert recording.column("vehicle_speed") == pytest.approx((20 + np.arange(20)) * MPS_PER_KNOT)
    assert recording.column("latitude")[0] == pytest.approx(48.1173)
    assert recording.column("longitude")[0] == pytest.approx(-11 - 31 / 60)
    # 23 March 1994 12:00 UTC.
    assert recording.time_s[0] == pytest.approx(764380800 + 43200)
    assert recording.quality.rate_hz == pytest.approx(5, rel=1e-3)
    assert recording.quality.mended == {}


def test_a_wrong_checksum_is_never_used(read) -> None:
    lines = [rmc(100 + k, 20) for k in range(20)]
    lines[7] = lines[7].replace("020.0", "099.9")
    lines[9] = lines[9][:40]
    recording = read("\n".join(lines))
    assert recording.column("vehicle_speed") == pytest.approx(20 * MPS_PER_KNOT)
    assert recording.time_s.size == 18
    assert recording.quality.mended == {"sentences with a wrong checksum": 1, "rows that are no sentence": 1}


def test_a_void_fix_gives_no_speed(read) -> None:
    lines = [rmc(100 + k, 20 if k != 5 else 0, status="V" if k == 5 else "A") for k in range(20)]
    recording = read("\n".join(lines))
    assert np.isnan(recording.column("vehicle_speed")[5]) and np.isnan(recording.column("latitude")[5])
    assert recording.quality.mended == {"sentences without a fix": 1}


@pytest.mark.parametrize("cold", ["date", "clock", "date with GGA at five times the pace"])
def test_before_the_first_fix_neither_date_nor_clock_counts(read, cold: str) -> None:
    fixes = [text for k in range(100) for text in (gga(43200 + k * 0.2), rmc(43200 + k * 0.2, 20))]
    before = [rmc(k * 0.2, 0, date="060180", status="V") for k in range(20)]
    if cold == "clock":
        before = [gga(k * 0.2, quality=0) for k in range(20)]
    elif cold.startswith("date with"):
        fixes = [
            text for k in range(1, 101) for text in (gga(43200 + k * 0.2), rmc(43200 + k * 0.2, 20))[: 1 + (k % 5 == 0)]
        ]
    recording = read("\n".join([*before, *fixes]))
    assert recording.time_s.size == 100
    assert 0 <= recording.time_s[0] - (764380800 + 43200) < 0.3
    assert recording.quality.duration_s == pytest.approx(99 * 0.2)
    assert recording.quality.mended == {"sentences without a fix": 20}


def vtg(knots: float) -> str:
    return sentence(f"GPVTG,084.4,T,,M,{knots:05.1f},N,,K,A")


def spoken(k: int, order: str) -> list[str]:
    """What a receiver says at its k-th fix, in this order of kinds; its speed grows by a knot a fix."""
    second = 43200 + k * 0.2
    return [{"V": vtg(20 + k), "G": gga(second), "R": rmc(second, 20 + k)}[kind] for kind in order]


@pytest.mark.parametrize(
    ("order", "every_fifth"), [("VG", "VG"), ("GV", "GV"), ("VG", "RVG"), ("GV", "RGV"), ("VG", "VGR"), ("GV", "GVR")]
)
def test_a_speed_without_a_time_goes_with_its_own_fix(read, order: str, every_fifth: str) -> None:
    lines = [text for k in range(50) for text in spoken(k, order if k % 5 else every_fifth)]
    # Where a speed stands between two sentences of one fix, the log may begin anywhere.
    cut = every_fifth[1] == "V" and len(every_fifth) == 3
    recording = read("\n".join(lines[cut:]))
    speeds = recording.column("vehicle_speed")
    true = 20 + np.round((recording.time_s % 86400 - 43200) / 0.2)
    held = np.isfinite(speeds)
    assert np.count_nonzero(held) >= 49
    assert speeds[held] == pytest.approx(true[held] * MPS_PER_KNOT)
    assert not any("VTG" in line for line in recording.history)


@pytest.mark.parametrize("order", ["VG", "GV"])
def test_stamps_of_reception_tell_which_sentence_comes_first(read, order: str) -> None:
    lines = [f"{500 + 0.2 * k + 0.01 * at:.3f} {text}" for k in range(50) for at, text in enumerate(spoken(k, order))][
        1:-1
    ]
    recording = read("\n".join(lines))
    speeds = recording.column("vehicle_speed")
    true = 20 + np.round((recording.time_s - 43200) / 0.2)
    held = np.isfinite(speeds)
    assert np.count_nonzero(held) >= 48
    assert speeds[held] == pytest.approx(true[held] * MPS_PER_KNOT)


def test_where_nothing_tells_which_comes_first_it_is_said(read) -> None:
    lines = [text for k in range(50) for text in spoken(k, "VG")][:-1]
    assert any("VTG carries no time" in line for line in read("\n".join(lines)).history)


def test_midnight_with_dates_and_without(read) -> None:
    dated = [rmc(86390 + k, 20, date="230394" if k < 10 else "240394") for k in range(20)]
    assert np.diff(read("\n".join(dated)).time_s) == pytest.approx(np.ones(19))
    undated = [text for k in range(20) for text in (gga((86390 + k) % 86400), sentence(f"GNVTG,,T,,M,0{k}.5,N,,K,A"))]
    recording = read("\n".join(undated))
    assert np.diff(recording.time_s) == pytest.approx(np.ones(19))
    assert recording.column("vehicle_speed") == pytest.approx((np.arange(20) + 0.5) * MPS_PER_KNOT)
    assert any("times count from midnight" in line for line in recording.history)


def test_a_position_of_before_midnight_with_the_date_of_after_it(read) -> None:
    lines = [gga(86399), rmc(0, 10, date="240394"), gga(1), rmc(2, 10, date="240394")]
    assert np.diff(read("\n".join(lines)).time_s) == pytest.approx([1, 1, 1])


def test_stamps_of_reception_stand_beside_the_time_of_the_fix(read) -> None:
    lines = [f"2026-03-01T10:00:{k * 0.2 + 3:06.3f}Z {rmc(100 + k * 0.2, 20)}" for k in range(20)]
    recording = read("\n".join(lines))
    assert recording.time_s[0] == pytest.approx(764380800 + 100)
    assert "received [s]" in recording.ignored
    received = read("\n".join(lines), wishes=(ColumnWish(channel="time", column="received"),))
    # 2026-03-01 10:00:03 UTC.
    assert received.time_s[0] == pytest.approx(1772359203.0)


def test_positions_alone_give_a_speed_and_say_so(read) -> None:
    recording = read("\n".join(gga(100 + k) for k in range(30)))
    # One hundredth of a minute of latitude a second is 1852 m / 100 within 0.6 % (sphere against WGS-84).
    assert np.nanmedian(recording.column("vehicle_speed")) == pytest.approx(18.52, rel=0.006)
    assert any("speed from positions" in line for line in recording.history)


@pytest.mark.parametrize(
    ("content", "message"),
    [
        ("$GPRMC,123519,A,4807.038,N,01131.000,E,022.4,084.4,230394,003.1,W*00\n" * 9, "9 have a wrong one"),
        ("\n".join(rmc(100 + k, 0, status="V") for k in range(9)), "had no fix in any of 9 sentences"),
        ("\n".join(sentence(f"GPVTG,,T,,M,0{k}.5,N,,K,A") for k in range(9)), "no sentence of position or speed"),
        (
            "\r\n".join(rmc(100 + k, 20).split("*")[0] for k in range(9)),
            "have no checksum .* as the receiver sends them",
        ),
    ],
)
def test_a_log_without_a_fix_says_why(read, content: str, message: str) -> None:
    with pytest.raises(LogError, match=message):
        read(content)


@given(st.text(alphabet="0123456789.,NSEWAV-+eEinf ", max_size=80), st.sampled_from(["RMC", "VTG", "GGA"]))
def test_no_field_upsets_the_reader(fields: str, kind: str) -> None:
    body = f"GP{kind},{fields}"
    found = SENTENCE.match(sentence(body))
    fix = found and parse_sentence(found)
    if fix:
        assert fix.latitude is None or abs(fix.latitude) <= 91
        assert fix.speed_kn is None or fix.speed_kn >= 0


def track(points: str, *, version: str = "1.1", head: str = "") -> str:
    space = f"http://www.topografix.com/GPX/1/{version[-1]}"
    return (
        f'<?xml version="1.0" encoding="UTF-8"?>{head}<gpx version="{version}" creator="x" xmlns="{space}" '
        'xmlns:gpxtpx="urn:track-point-extension">'
        f"<wpt lat='1' lon='1'><time>2020-01-01T00:00:00Z</time></wpt><trk><trkseg>{points}</trkseg></trk></gpx>"
    )


def point(k: int, inside: str = "") -> str:
    time = f"<time>2026-03-01T10:00:{k * 0.5:06.3f}Z</time>"
    return f'<trkpt lat="{48 + k * 1e-4}" lon="11.5"><ele>300</ele>{time}{inside}</trkpt>'


EXTENSION = (
    "<extensions><gpxtpx:TrackPointExtension><gpxtpx:speed>{}</gpxtpx:speed></gpxtpx:TrackPointExtension></extensions>"
)


@pytest.mark.parametrize(("version", "form"), [("1.0", "<speed>{}</speed>"), ("1.1", EXTENSION)])
def test_gpx_with_speed(read, version: str, form: str) -> None:
    recording = read(track("".join(point(k, form.format(10 + k)) for k in range(40)), version=version), "t.gpx")
    assert recording.column("vehicle_speed") == pytest.approx(10.0 + np.arange(40))
    assert recording.column("latitude") == pytest.approx(48 + np.arange(40) * 1e-4)
    assert recording.quality.rate_hz == pytest.approx(2, rel=1e-3)
    assert recording.time_s[0] == pytest.approx(1772359200.0)
    assert not any("positions" in line for line in recording.history)


def test_gpx_without_speed_takes_it_from_positions_and_says_so(read) -> None:
    recording = read(track("".join(point(k) for k in range(40))), "t.gpx")
    # 1e-4° of latitude on a sphere of 6,371 km in half a second.
    speed = np.radians(1e-4) * 6371008.8 / 0.5
    assert np.nanmedian(recording.column("vehicle_speed")) == pytest.approx(speed, rel=1e-6)
    assert recording.quality.rate_hz == pytest.approx(2, rel=1e-3)
    assert any("speed from positions" in line for line in recording.history)


def test_gpx_points_without_a_time_are_dropped_and_counted(read) -> None:
    points = "".join(point(k, "<speed>3</speed>") for k in range(9)) + '<trkpt lat="1" lon="2"/>'
    assert read(track(points), "t.gpx").quality.mended == {"points without a time": 1}


def test_a_cut_gpx_gives_the_points_before_the_cut(read) -> None:
    content = track("".join(point(k, "<speed>3</speed>") for k in range(40)))
    recording = read(content[: len(content) // 2], "t.gpx")
    assert 10 < recording.time_s.size < 25
    assert any("ends early" in line for line in recording.history)


def test_entities_are_refused(read) -> None:
    bomb = "<!DOCTYPE gpx [<!ENTITY a 'ha'><!ENTITY b '&a;&a;&a;&a;'>]>"
    with pytest.raises(LogError, match="^t.gpx: it declares a document type, which no GPX has"):
        read(track(point(1), head=bomb), "t.gpx")


def test_a_planned_track_has_no_times(read) -> None:
    with pytest.raises(LogError, match="no track point with a time"):
        read(track('<trkpt lat="1" lon="2"/><trkpt lat="1" lon="2"/>'), "t.gpx")


@given(st.binary(max_size=200))
def test_no_bytes_upset_the_gpx_reader(data: bytes) -> None:
    seen: list = []
    try:
        assert read_points([b"<gpx><trkpt lat='1' lon='2'>", data], seen.append) is None or True
    except GpxFault as fault:
        assert "document type" in str(fault)
    assert all(p.latitude is None or abs(p.latitude) <= 90 for p in seen)


def test_speed_is_not_taken_across_a_hole() -> None:
    time = np.array([0, 1, 2, 60, 61, 62.0])
    speed = find_speeds(time, np.linspace(48, 48.01, 6), np.full(6, 11.0))
    assert np.isfinite(speed).tolist() == [False, True, False, False, True, False]
