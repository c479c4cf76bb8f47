"""Hand-made results, comparisons and jobs to make pages of."""

from dataclasses import replace

import numpy as np
import pytest

from shiftlog.model.car import GateLayout, Plane
from shiftlog.model.comparison import Comparison, LeftOutCount, Row
from shiftlog.model.drive import DriveHead
from shiftlog.model.gate import GateMap
from shiftlog.model.job import Job, JobVersion, Part, Photo, Play, Replaced
from shiftlog.model.reading import measured, unmeasured
from shiftlog.model.rest import Rest
from shiftlog.model.result import DriveResult, InputFile, Summary
from shiftlog.model.share import Share
from shiftlog.model.shift import Shift
from shiftlog.report.content import Content, DriveUsed, make_content

LAYOUT = GateLayout(
    planes=(Plane(forward="1", rear="2"), Plane(forward="3", rear="4"), Plane(forward="5", rear="R")), home="3-4"
)


def a_shift(number, *, outcome="clean", grind=False, gears=("2", "3"), standing=False, time_s=0.4):
    readings = {
        "shift_time_s": measured("shift_time_s", time_s), "vehicle_speed_mps": measured("vehicle_speed_mps", 21.7),
        "engine_speed_rpm": measured("engine_speed_rpm", 3000.0 + 20 * number),
        "grind": unmeasured("grind", "no recorder there") if grind is None else measured("grind", grind),
    }  # fmt: skip
    return Shift(
        number=number, from_gear=gears[0], to_gear=gears[1], start_s=10.0 * number, end_s=10.0 * number + 0.4,
        seen_by="lever", outcome=outcome, standing=standing, readings=readings,
    )  # fmt: skip


def a_rest(plane, *, released=True, in_bend=False):
    return Rest(
        start_s=1.0, end_s=2.0, select_mm=0.3 if plane == "3-4" else -24.0, engage_mm=0.1, plane=plane,
        released=released, came_from="right", in_bend=in_bend,
    )  # fmt: skip


@pytest.fixture
def make_result():
    def make(name="d1", *, shifts=(), rests=(), mark="a", cold=None, guided=()):
        gate = GateMap(
            matrix=np.eye(2), offset=np.zeros(2), orientation="found", evidence="ratios", scale="relative", seats=(),
            layout=LAYOUT, noise_mm=0.1,
        )  # fmt: skip
        home = sum(r.plane == "3-4" for r in rests)
        summary = Summary(wrong_plane=Share(k=len(rests) - home, n=len(rests), low=0.0, high=1.0) if rests else None)
        return DriveResult(
            head=DriveHead(id=name, cold=cold, started="2026-10-03T14:05:00+01:00"), car="Test coupe", version="0.1.0",
            settings={"depth_low": 0.1}, inputs=(InputFile(file="lever.csv", sha256=mark * 64, size_bytes=12),),
            clock_recording="lever", clock_zero_s=0.0, recordings=(), left_out=(), gate=gate, gate_why=None,
            shifts=tuple(shifts), rests=tuple(rests), rejected=(), summary=summary, guided=tuple(guided),
        )  # fmt: skip

    return make


@pytest.fixture
def sides(make_result):
    """Three drives before in which the lever never comes home and 2-3 grinds, three after in which neither happens."""
    before = [
        make_result(
            f"b{k}", mark="abc"[k], rests=[a_rest("1-2")] * 6 + [a_rest("1-2", in_bend=True)],
            shifts=[a_shift(n, outcome="missed" if n == 1 else "clean", grind=n < 4) for n in range(1, 9)],
        )
        for k in range(3)
    ]  # fmt: skip
    after = [
        make_result(f"a{k}", mark="def"[k], rests=[a_rest("3-4")] * 7, shifts=[a_shift(n) for n in range(1, 9)])
        for k in range(3)
    ]
    return [DriveUsed(id=f"id-{r.head.id}", result=r) for r in before], [
        DriveUsed(id=f"id-{r.head.id}", result=r) for r in after
    ]


@pytest.fixture
def job() -> Job:
    return Job(
        car="Test coupe", order="118", client="A. Client", plate="HD-AB 1234", vin="WVWZZZ1KZ6W000001",
        odometer_km=128_400.0, complaint="It <script>alert(1)</script> grinds & jams. HD ab1234", shifts=("2-3",),
        symptoms=("rests wrong", "grinds"), reproduced="yes", plug="brass flakes", strainer="none",
        oil="dark, from WVWZZZ1KZ6W000001", play=(Play(where="fork", value=0.35, unit="mm"),),
        parts=(Part(part="cone", wear="<img src=x onerror=alert(2)>"),),
        replaced=(Replaced(part="cone", number="A-17"),),
        engage_turns=-1.5, fluid="1.9 l", checked_gears="yes", checked_lockout="not checked", recheck_km=500.0,
        signed_by="T.", signed_on="2026-10-12",
        photos=(Photo(sha256="0" * 64, of="plug", caption="flakes, hd_ab_1234", width=9, height=9),),
    )  # fmt: skip


@pytest.fixture
def version(job):
    return JobVersion(id=3, version=5, saved="2026-10-12T10:00:00+00:00", by="T.", job=job)


@pytest.fixture
def content(sides, version) -> Content:
    return make_content(*sides, version)


@pytest.fixture
def make_row():
    def make(measure="shift_time_s", group="all", **different) -> Row:
        plain = {
            "measure": measure, "group": group, "unit": "s", "better": "lower", "drives_before": 3, "drives_after": 3,
            "n_before": 24, "n_after": 24, "before": 0.44, "after": 0.36, "difference": -0.08, "ci_low": -0.1,
            "ci_high": -0.05, "p": 0.01, "p_corrected": 0.04, "cliffs_delta": -0.7, "smallest_change": 0.03,
            "margin": 0.02, "df": 4.0, "method": "means of drive medians",
            "left_out": LeftOutCount(before=3, after=1, why=("3 × paused",)), "more_drives": None, "verdict": "better",
            "provisional": True, "why": "one drive a side", "values_before": {"b0": (0.42, 0.44, 0.45)},
            "values_after": {"a0": (0.35, 0.36, 0.37)},
        }  # fmt: skip
        return Row(**(plain | different))

    return make


@pytest.fixture
def with_rows(content):
    """A report whose comparison holds just these rows."""

    def make(*rows: Row) -> Content:
        told = Comparison(
            before=("b0", "b1", "b2"), after=("a0", "a1", "a2"), caveats=("the hand was harder",), rows=rows
        )
        return replace(content, comparison=told)

    return make
