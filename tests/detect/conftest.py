"""Levers moved by a ruler: paths of minimum-jerk moves between given places, read by a given sensor."""

from collections.abc import Callable

import numpy as np
import pytest

from shiftlog.model.car import Car, GateLayout, Plane
from shiftlog.model.drive import Signals
from shiftlog.model.trace import Trace

RATE_HZ = 250.0
H_GATE = (("1", "2"), ("3", "4"), ("5", "R"))


def make_car(planes=H_GATE, home: str | None = "3-4") -> Car:
    layout = GateLayout(planes=tuple(Plane(forward=f, rear=r) for f, r in planes), home=home)
    return Car(name="test car", gate=layout, redline_rpm=7000)


class Hand:
    """Moves the lever of a car through its gate and writes down where it was, in gate mm."""

    def __init__(self, car: Car, rate_hz: float = RATE_HZ) -> None:
        self.gate = car.gate
        self.rate_hz = rate_hz
        self.place = np.zeros(2)
        self.path = [np.zeros((1, 2))]

    @property
    def now_s(self) -> float:
        return (sum(len(p) for p in self.path) - 1) / self.rate_hz

    def hold(self, seconds: float) -> "Hand":
        self.path.append(np.tile(self.place, (round(seconds * self.rate_hz), 1)))
        return self

    def move(self, select: float, engage: float, seconds: float) -> "Hand":
        u = np.arange(1, round(seconds * self.rate_hz) + 1)[:, None] / round(seconds * self.rate_hz)
        target = np.array([select, engage])
        self.path.append(self.place + (target - self.place) * (u**3 * (10 - 15 * u + 6 * u**2)))
        self.place = target
        return self

    def out(self, seconds: float = 0.12) -> "Hand":
        return self.move(self.place[0], 0.0, seconds)

    def across(self, gear: str, seconds: float = 0.15) -> "Hand":
        select = self.gate.position_mm(gear)[0]
        return self if select == self.place[0] else self.move(select, 0.0, seconds)

    def push(self, gear: str, depth: float = 1.0, seconds: float = 0.12) -> "Hand":
        select, engage = self.gate.position_mm(gear)
        return self.move(select, depth * engage, seconds)

    def shift(self, gear: str, stay_s: float = 1.5) -> "Hand":
        if self.place[1] != 0:
            self.out()
        return self.across(gear).push(gear).hold(stay_s)

    def signals(self, matrix=((11.0, 0.0), (0.0, 11.0)), noise: float = 0.0, **more) -> Signals:
        mm = np.concatenate(self.path)
        raw = mm @ np.array(matrix).T + 512.0
        raw = np.round(raw + np.random.default_rng(1).normal(0, noise, raw.shape)) if noise else raw
        time = np.arange(len(mm)) / self.rate_hz
        lever = Trace(
            time_s=time, values=raw, spans=((0.0, time[-1]),), rate_hz=self.rate_hz, recording="lever", place="lever"
        )
        return Signals(lever=lever, **more)


@pytest.fixture
def car() -> Car:
    return make_car()


@pytest.fixture
def make_hand() -> Callable[..., Hand]:
    return Hand


@pytest.fixture
def make_profile() -> Callable[..., Car]:
    return make_car
