"""A synchroniser that has less to do is no better for it."""

import pytest

from shiftlog.compare.drives import compare_drives

KIND = ("2", "3")


@pytest.fixture
def paced(result, shift):
    """Drives in which the lever stands in proportion to the engine's speed, and by how quick the cone is."""

    def make(name, rpm, *, per_krpm=0.06, key="engine_speed_rpm", scale=1.0):
        made = []
        for d in range(4):
            speeds = [rpm + 20.0 * ((k * 7 + d * 3) % 5 - 2) for k in range(8)]
            stood = [per_krpm * v / 1000 + 0.002 * ((k * 3 + d) % 4) for k, v in enumerate(speeds)]
            made.append(result(f"{name}{d}", [
                shift(k, KIND, time_s=0.3 + s, figures={key: v * scale, "baulk_time_s": s})
                for k, (v, s) in enumerate(zip(speeds, stood, strict=True))
            ]))  # fmt: skip
        return made

    return make


def verdicts(comparison):
    return {(r.measure, r.group): r.verdict for r in comparison.rows if r.measure in ("baulk_time_s", "shift_time_s")}


@pytest.mark.parametrize("speed", [{}, {"key": "vehicle_speed_mps", "scale": 1 / 200}])
@pytest.mark.parametrize(("rpm", "way"), [(3500, "slower"), (4500, "faster")])
def test_a_stand_that_goes_with_the_engine_s_speed_is_neither_better_nor_worse(paced, rpm, way, speed):
    found = compare_drives(paced("b", 4000, **speed), paced("a", rpm, **speed))
    assert set(verdicts(found).values()) == {"unclear"}
    assert any(f"the engine turned 12 % {way} after" in said for said in found.caveats)
    assert f"the engine turned {way} after, which alone could do it" in found.rows[-1].why


def test_a_quicker_cone_is_better_though_the_engine_turned_slower_as_well(paced):
    found = compare_drives(paced("b", 4000), paced("a", 3600, per_krpm=0.03))
    assert set(verdicts(found).values()) == {"better"}


def test_a_longer_stand_at_a_slower_engine_stays_worse(paced):
    assert set(verdicts(compare_drives(paced("b", 4000), paced("a", 3600, per_krpm=0.1))).values()) == {"worse"}


def test_times_are_not_the_same_where_a_slower_engine_hides_a_slower_cone(paced):
    as_fast = compare_drives(paced("b", 4000), paced("a", 4000))
    assert set(verdicts(as_fast).values()) == {"same"}
    hidden = compare_drives(paced("b", 4000), paced("a", 3500, per_krpm=0.24 / 3.5))
    assert set(verdicts(hidden).values()) == {"unclear"}
    assert "which alone could hide a change" in hidden.rows[-1].why


def test_engines_about_as_fast_need_no_word(paced):
    found = compare_drives(paced("b", 4000), paced("a", 3900, per_krpm=0.03))
    assert found.caveats == () and set(verdicts(found).values()) == {"better"}


def test_an_engine_in_neutral_and_a_single_odd_shift_are_no_pace(paced, result, shift):
    def with_more(drives, gears, rpm):
        more = [shift(20 + k, gears, figures={"engine_speed_rpm": rpm}) for k in range(4)]
        return [result(d.head.id, [*d.shifts, *more]) for d in drives]

    before, after = paced("b", 4000), paced("a", 4000)
    assert not compare_drives(with_more(before, ("N", "2"), 900.0), with_more(after, ("N", "2"), 1300.0)).caveats
    odd = [with_more(one[:1], ("5", "3"), rpm) + one[1:] for one, rpm in ((before, 3000.0), (after, 3500.0))]
    assert not compare_drives(*odd).caveats
