"""Engine speed from vehicle speed and ratios against published worked examples (reference values, section 6)."""

import math

import pytest

from shiftlog.model.car import Car


@pytest.mark.parametrize(
    ("mph", "overall", "diameter_in", "rpm_336"),
    [
        # calchorsepower.com: 70 mph, 3.55, 26 in, printed 3211; interconverter.com: 3.73, 28 in, printed 3133;
        # axletally gear calculator: 3.42 x 0.70, 28 in, printed 2011.
        (70.0, 3.55, 26.0, 3211.0),
        (70.0, 3.73, 28.0, 3133.0),
        (70.0, 3.42 * 0.70, 28.0, 2011.0),
    ],
)
def test_engine_speed_of_published_examples(mph: float, overall: float, diameter_in: float, rpm_336: float) -> None:
    car = Car(
        name="example",
        gate=None,
        ratios={"1": overall},
        final_drive={"1": 1.0},
        rolling_radius_m=diameter_in * 0.0254 / 2,
    )
    rpm = car.rpm_per_mps("1") * mph * 0.44704
    # The pages use the constant 336 where 63360 / (60 pi) = 336.135 is exact; 0.5 rpm is their rounding.
    assert rpm * 336 / 336.1352 == pytest.approx(rpm_336, abs=0.5)


def test_the_constant_of_the_imperial_formula() -> None:
    # 63360 / (60 pi): inches in a mile, over minutes and the turn; pages print 336.
    car = Car(name="x", gate=None, ratios={"1": 1.0}, final_drive={"1": 1.0}, rolling_radius_m=0.0254 / 2)
    assert car.rpm_per_mps("1") * 0.44704 == pytest.approx(63360 / (60 * math.pi), rel=1e-12)
