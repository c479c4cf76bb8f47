"""Invented cars, no real model among them: gates of every common layout, soft and hard drivelines."""

from dataclasses import dataclass

from shiftlog.model.car import Car, GateLayout, Plane


@dataclass(frozen=True, eq=False, kw_only=True)
class SynthCar:
    """A car with what its motion needs beyond the profile.

    shuffle_hz : undamped swing of the driveline in first and in the highest gear; shuffle_damping : its ζ
    """

    key: str
    car: Car
    mass_kg: float = 1250.0
    engine_inertia_kgm2: float = 0.16
    torque_nm: float = 170.0
    idle_rpm: float = 820.0
    cylinders: int = 4
    drag_area_m2: float = 0.68
    shuffle_hz: tuple[float, float] = (2.8, 6.5)
    shuffle_damping: float = 0.14

    @property
    def forward_gears(self) -> tuple[str, ...]:
        """Forward gears in order, lowest first."""
        return tuple(sorted(g for g in self.car.gate.gears if g != "R"))


def _planes(*pairs: str) -> tuple[Plane, ...]:
    named = [pair.partition("/") for pair in pairs]
    return tuple(Plane(forward=f or None, rear=r or None) for f, _, r in named)


def _car(
    key: str,
    name: str,
    *planes: str,
    home: str | None,
    ratios: str,
    final: float,
    radius: float,
    redline: float,
    pitch: float,
    travel: float,
    lockout: str | None = None,
    teeth: int = 36,
    hub: str = "",
    **body: object,
) -> SynthCar:
    """``hub``: gears whose hubs sit on the input shaft; with none of them the profile keeps silent."""
    gate = GateLayout(
        planes=_planes(*planes), home=home, lockout=lockout, plane_pitch_mm=pitch, engage_travel_mm=travel
    )
    by_gear = {g: float(i) for g, i in (item.split("=") for item in ratios.split())}
    car = Car(
        name=name,
        gate=gate,
        redline_rpm=redline,
        ratios=by_gear,
        final_drive={gear: final for gear in by_gear},
        dog_teeth={gear: teeth for gear in by_gear},
        hub={gear: "input" if gear in hub else "output" for gear in by_gear} if hub else {},
        rolling_radius_m=radius,
    )
    return SynthCar(key=key, car=car, **body)


CARS: dict[str, SynthCar] = {
    car.key: car
    for car in (
        _car(
            "hatch5",
            "Harbour hatch, five-speed",
            "1/2",
            "3/4",
            "5/R",
            home="3-4",
            ratios="1=3.42 2=1.91 3=1.30 4=0.97 5=0.78 R=3.25",
            final=4.06,
            radius=0.291,
            redline=6600,
            pitch=25,
            travel=30,
        ),
        _car(
            "estate6",
            "Fell estate, six-speed",
            "R/",
            "1/2",
            "3/4",
            "5/6",
            home="3-4",
            ratios="1=3.72 2=2.04 3=1.36 4=1.03 5=0.84 6=0.70 R=3.50",
            final=3.76,
            radius=0.308,
            redline=5400,
            pitch=22,
            travel=44,
            lockout="lift",
            hub="3456",
            mass_kg=1560.0,
            torque_nm=290.0,
            idle_rpm=780.0,
            shuffle_hz=(2.2, 5.2),
            shuffle_damping=0.09,
        ),
        _car(
            "coupe5",
            "Hill-climb coupe, five-speed",
            "R/",
            "1/2",
            "3/4",
            "5/",
            home="3-4",
            ratios="1=3.20 2=1.95 3=1.40 4=1.05 5=0.85 R=3.10",
            final=4.10,
            radius=0.288,
            redline=7400,
            pitch=20,
            travel=26,
            lockout="press",
            mass_kg=980.0,
            torque_nm=185.0,
            shuffle_hz=(3.6, 7.8),
            shuffle_damping=0.22,
        ),
        _car(
            "saloon6",
            "Quayside saloon, six-speed",
            "1/2",
            "3/4",
            "5/6",
            "/R",
            home="3-4",
            ratios="1=3.55 2=2.02 3=1.38 4=1.06 5=0.87 6=0.72 R=3.40",
            final=3.94,
            radius=0.312,
            redline=6800,
            pitch=24,
            travel=52,
            torque_nm=240.0,
            mass_kg=1450.0,
        ),
        _car(
            "dogleg5",
            "Circuit dog-leg, five-speed",
            "R/1",
            "2/3",
            "4/5",
            home="2-3",
            ratios="1=2.95 2=1.98 3=1.48 4=1.19 5=1.00 R=2.90",
            final=3.64,
            radius=0.298,
            redline=7600,
            pitch=23,
            travel=34,
            teeth=24,
            mass_kg=1080.0,
            torque_nm=230.0,
            shuffle_hz=(4.0, 8.0),
            shuffle_damping=0.26,
        ),
        _car(
            "van4",
            "Market van, four-speed",
            "1/2",
            "3/4",
            "/R",
            home="3-4",
            ratios="1=3.65 2=2.06 3=1.38 4=1.00 R=3.66",
            final=4.30,
            radius=0.301,
            redline=5600,
            pitch=30,
            travel=62,
            teeth=42,
            mass_kg=1400.0,
            torque_nm=150.0,
            shuffle_hz=(2.3, 4.8),
            shuffle_damping=0.10,
        ),
        _car(
            "tourer7",
            "Ridge tourer, seven-speed",
            "R/",
            "1/2",
            "3/4",
            "5/6",
            "7/",
            home="3-4",
            ratios="1=3.90 2=2.30 3=1.64 4=1.28 5=1.05 6=0.88 7=0.70 R=3.70",
            final=3.44,
            radius=0.325,
            redline=7000,
            pitch=21,
            travel=36,
            lockout="lift",
            hub="567",
            mass_kg=1500.0,
            torque_nm=330.0,
            shuffle_hz=(2.6, 6.0),
        ),
        _car(
            "loose5",
            "Farm pick-up, five-speed with no home spring",
            "1/2",
            "3/4",
            "5/R",
            home=None,
            ratios="1=3.83 2=2.20 3=1.40 4=1.00 5=0.83 R=3.70",
            final=4.10,
            radius=0.345,
            redline=4800,
            pitch=27,
            travel=48,
            mass_kg=1750.0,
            torque_nm=270.0,
            idle_rpm=760.0,
        ),
    )
}
"""By key: five, six and seven gears, reverse right or left, a dog-leg, four gears, a lever without a home."""
