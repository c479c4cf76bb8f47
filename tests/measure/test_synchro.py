"""The synchroniser index on constructed shifts: t = J Δω / T has a known slope, and crashes are counted."""

import numpy as np
import pytest

from shiftlog.measure.synchro import CRASH, SLOPE, direction, measure_synchro, temperature_band
from shiftlog.model.car import Car
from shiftlog.model.reading import measured, unmeasured
from shiftlog.model.shift import Shift

CAR = Car(name="test car", gate=None, ratios={"2": 2.0, "3": 1.4, "4": 1.1})
SLOPE_MS = 70.0


def shift(
    number: int, *, rpm: float, stand_s: float | None, grind=False, quick=True, temp_c=None, **different
) -> Shift:
    def or_not(key, value):
        return unmeasured(key, f"no {key}") if value is None else measured(key, value)

    readings = [
        measured("speed_difference_rpm", rpm, uncertainty=15.0),
        or_not("baulk_time_s", stand_s),
        or_not("grind", grind),
        measured("approach_speed_mmps", 300.0 if quick else 60.0),
        or_not("gearbox_temp_c", temp_c),
    ]
    plain = {"from_gear": "2", "to_gear": "3", "end_s": 10.0 * number + 0.4, "outcome": "clean", "attempts": 1}
    return Shift(
        number=number, start_s=10.0 * number, seen_by="lever", readings={r.key: r for r in readings},
        **(plain | {"standing": False} | different),
    )  # fmt: skip


def cone(rpms, *, slope_ms=SLOPE_MS, noise=0.0, seed=0, **different) -> list[Shift]:
    """Shifts whose stands are t = J Δω / T, with a hand that presses unevenly by a share of ``noise``."""
    rng = np.random.default_rng(seed)
    stands = [slope_ms * 1e-6 * abs(rpm) * (1 + noise * rng.standard_normal()) for rpm in rpms]
    return [shift(i + 1, rpm=rpm, stand_s=t, **different) for i, (rpm, t) in enumerate(zip(rpms, stands, strict=True))]


RPMS = np.linspace(500, 1500, 10)


def test_the_slope_of_constructed_stands_is_given_back():
    (row,) = measure_synchro(cone(RPMS), CAR)
    assert (row.gear, row.direction, row.side, row.n) == ("3", "up", "hub", 10)
    assert row.slope_ms_per_krpm == pytest.approx(SLOPE_MS, rel=1e-9)
    assert row.offset_ms == pytest.approx(0.0, abs=1e-9)
    low, high = row.interval95
    assert low < SLOPE_MS < high and SLOPE not in row.unmeasured


def test_stands_all_alike_have_no_slope_and_no_crumbs_of_one():
    (row,) = measure_synchro([shift(i + 1, rpm=rpm, stand_s=0.01 + 1e-16 * i) for i, rpm in enumerate(RPMS)], CAR)
    assert row.slope_ms_per_krpm == 0.0 and row.interval95[0] <= 0.0 <= row.interval95[1]


def test_double_the_difference_means_double_the_time():
    (row,) = measure_synchro(cone(RPMS), CAR)
    at = {rpm: row.slope_ms_per_krpm * rpm / 1000 + row.offset_ms for rpm in (700, 1400)}
    assert at[1400] == pytest.approx(2 * at[700], rel=1e-9)


def test_twice_the_inertia_makes_it_twice_as_steep_and_the_sign_of_the_difference_nothing():
    (once,), (twice,) = measure_synchro(cone(RPMS), CAR), measure_synchro(cone(-RPMS, slope_ms=2 * SLOPE_MS), CAR)
    assert twice.slope_ms_per_krpm == pytest.approx(2 * once.slope_ms_per_krpm, rel=1e-9)


def test_what_coasting_takes_off_every_difference_does_not_turn_the_line():
    coasted = [shift(i, rpm=rpm, stand_s=SLOPE_MS * 1e-6 * (rpm - 250)) for i, rpm in enumerate(RPMS, start=1)]
    (row,) = measure_synchro(coasted, CAR)
    assert row.slope_ms_per_krpm == pytest.approx(SLOPE_MS, rel=1e-9)
    assert row.offset_ms == pytest.approx(-0.25 * SLOPE_MS, rel=1e-6)


def test_one_wild_stand_in_ten_hardly_moves_it():
    shifts = cone(RPMS[:9])
    (row,) = measure_synchro([*shifts, shift(10, rpm=1500.0, stand_s=0.6)], CAR)
    assert row.slope_ms_per_krpm == pytest.approx(SLOPE_MS, rel=0.1)


def drawn(seed: int) -> list[Shift]:
    """Nine shifts of an uneven hand, a tyre known to 1 %, and a shaft that coasts more or less with the difference."""
    rng = np.random.default_rng([seed, 5])
    rpms, tyre, tilt = rng.uniform(400, 1600, 9), 1 + 0.01 * rng.standard_normal(), 40 * rng.standard_normal()
    met = rpms - 150 - tilt * (rpms - rpms.mean()) / rpms.std()
    stands = SLOPE_MS * 1e-6 * met * (1 + 0.12 * rng.standard_normal(9))
    return [shift(i, rpm=tyre * rpm, stand_s=t) for i, (rpm, t) in enumerate(zip(rpms, stands, strict=True), start=1)]


def test_stated_intervals_hold_the_true_slope_as_often_as_they_say():
    rows = [measure_synchro(drawn(seed), CAR)[0] for seed in range(400)]
    held = [row.interval95[0] <= SLOPE_MS <= row.interval95[1] for row in rows if row.interval95 is not None]
    # 95 % of 400 with three standard deviations of counting, 1.1 % each.
    assert 0.917 <= np.mean(held) <= 0.983


@pytest.mark.parametrize(
    ("shifts", "why"),
    [
        (cone(RPMS[:5]), "stood in 5 shifts"),
        (cone(np.linspace(1000, 1150, 10)), "much the same"),
        ([shift(1, rpm=900.0, stand_s=0.0)], "stood before its cone in no shift"),
        ([shift(1, rpm=900.0, stand_s=None)], "no baulk_time_s"),
    ],
)
def test_too_little_gives_no_slope_and_says_why(shifts, why):
    (row,) = measure_synchro(shifts, CAR)
    assert row.slope_ms_per_krpm is row.interval95 is row.u_ms_per_krpm is None
    assert why in row.unmeasured[SLOPE]


def test_quick_shifts_with_a_burst_and_no_stand_crash_through():
    crashed = [shift(i, rpm=900.0, stand_s=0.0, grind=True) for i in range(1, 5)]
    gentle = [shift(5, rpm=900.0, stand_s=0.0, grind=True, quick=False)]
    stood = [shift(6, rpm=900.0, stand_s=0.09, grind=True), shift(7, rpm=900.0, stand_s=0.0, grind=False)]
    not_heard = [shift(8, rpm=900.0, stand_s=0.0, grind=None)]
    (row,) = measure_synchro([*crashed, *gentle, *stood, *not_heard], CAR)
    assert (row.crash_through.k, row.crash_through.n) == (4, 6)
    assert row.reading.endswith("2 of 7 ground otherwise: by a slow hand, or after the lever had stood")
    # Clopper-Pearson limits of 4 of 6, 95 %: 0.2228 and 0.9567 (from the beta distribution, B(0.025; 4, 3) and so on).
    assert (row.crash_through.low, row.crash_through.high) == pytest.approx((0.2228, 0.9567), abs=2e-4)


def test_a_shorter_stand_is_never_said_to_be_better():
    worn = [shift(i, rpm=900.0, stand_s=0.0, grind=True) for i in range(1, 7)]
    deaf = [shift(i, rpm=rpm, stand_s=2e-8 * rpm, grind=None) for i, rpm in enumerate(RPMS, start=1)]
    (row,), (unheard,) = measure_synchro(worn, CAR), measure_synchro(deaf, CAR)
    assert "no improvement" in row.reading
    assert "proves nothing" in unheard.reading and CRASH in unheard.unmeasured


def test_up_and_down_cold_and_hot_and_gears_stay_apart():
    shifts = [
        *cone(RPMS),
        *cone(RPMS, from_gear="4"),
        *cone(RPMS, temp_c=20.0),
        *cone(RPMS, temp_c=85.0),
        *cone(RPMS, from_gear="3", to_gear="4"),
    ]
    rows = measure_synchro(shifts, CAR)
    assert {(r.gear, r.direction, r.band) for r in rows} == {
        ("3", "up", "not known"), ("3", "down", "not known"), ("3", "up", "cold"), ("3", "up", "hot"),
        ("4", "up", "not known"),
    }  # fmt: skip


@pytest.mark.parametrize(
    "different",
    [{"paused": True}, {"double_declutched": True}, {"standing": True}, {"via": ("4",)}, {"outcome": "missed"},
     {"from_gear": "N"}, {"to_gear": "R"}],
)  # fmt: skip
def test_other_kinds_of_shift_are_no_part_of_it(different):
    assert measure_synchro(cone(RPMS, **different), CAR) == ()


def test_bands_and_directions():
    assert [temperature_band(t) for t in (None, 39.9, 40.0, 59.9, 60.0)] == [
        "not known", "cold", "between", "between", "hot"
    ]  # fmt: skip
    assert direction(shift(1, rpm=1.0, stand_s=0.0, from_gear="4", to_gear="2")) == "down"
