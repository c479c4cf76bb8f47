"""How shifts from a phone are found for a driver that no weight was fitted to, and what makes their confidence honest.

    python -m tests.truth.phone_held_out --every 2

Each driver in turn is left out of the fit, and his drives are judged by curves of the others. What is claimed there and
what is true give ``TEMPER`` of ``shiftlog/detect/phone_judge.py``: a constant and a slope for the log odds, fitted to
all drivers alike, with vehicle speed and without. ``--every`` judges every so many of the drives.
"""

import argparse
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager

import numpy as np
from scipy.optimize import minimize

from shiftlog.detect import phone_judge
from shiftlog.model.settings import Settings
from tests.truth.phone_fit import (
    Learnt,
    Study,
    collect,
    find_knots,
    fit_curves,
    fit_habits,
    read_drives,
    training_drives,
)
from tests.truth.phone_study import PhoneTally, line, score
from tests.truth.phone_truth import PhoneCase

AS_IT_IS = dict.fromkeys(phone_judge.TEMPER, (0.0, 1.0))
"""Claims that are not tempered."""

LEAST = 0.1
"""Claims below this are of no use to anybody and tell nothing of those above."""


@contextmanager
def judging_by(
    learnt: Mapping[str, Learnt], habits: Sequence[float], knots: np.ndarray, temper: Mapping[str, tuple[float, float]]
) -> Iterator[None]:
    """The judgement with other curves, for a while."""
    own = phone_judge.CURVES, phone_judge.HABITS, phone_judge.KNOTS, phone_judge.TEMPER
    phone_judge.CURVES, phone_judge.HABITS, phone_judge.KNOTS = dict(learnt), tuple(habits), knots
    phone_judge.TEMPER = dict(temper)
    try:
        yield
    finally:
        phone_judge.CURVES, phone_judge.HABITS, phone_judge.KNOTS, phone_judge.TEMPER = own


def judge_held_out(
    name: str, studies: Mapping[str, list[Study]], cases: Sequence[PhoneCase]
) -> Mapping[str, tuple[PhoneTally, PhoneTally]]:
    """What is found of one driver's drives by curves fitted to the others, with speed and without: as the judgement
    has it, and as it is told."""
    others = [some for other, some in studies.items() if other != name]
    knots = find_knots(others)
    learnt = {kind: fit_curves(*rows, knots) for kind, rows in collect(others).items()}
    with judging_by(learnt, phone_judge.HABITS, knots, AS_IT_IS):
        habits = fit_habits(others, learnt, knots)
    bars = ("phone_least_probability", "phone_least_probability_overrun", "phone_sure_probability")
    found, every = {}, Settings(**dict.fromkeys(bars, LEAST))
    for key in phone_judge.TEMPER:
        with judging_by(learnt, habits, knots, AS_IT_IS):
            raw = score(cases, speed=key == "speed", settings=every)
        with judging_by(learnt, habits, knots, phone_judge.TEMPER):
            found[key] = raw, score(cases, speed=key == "speed")
    return found


def fit_temper(claims: Sequence[Sequence[tuple[float, bool]]]) -> tuple[float, float]:
    """Constant and slope that make claims (probability, whether it was one) true, each driver counting the same."""
    rows = [np.array(one, dtype=float).reshape(-1, 2) for one in claims]
    said = np.concatenate([np.log(one[:, 0] / (1 - one[:, 0])) for one in rows])
    true = np.concatenate([one[:, 1] for one in rows])
    counted = np.concatenate([np.full(len(one), 1 / len(one)) for one in rows])

    def loss(b: np.ndarray) -> float:
        score = b[0] + b[1] * said
        return float(counted @ (np.logaddexp(0, score) - true * score))

    return tuple(round(float(value), 2) for value in minimize(loss, [0.0, 1.0]).x)


def main() -> None:
    parser = argparse.ArgumentParser(description="Judges each driver by weights fitted to the others.")
    parser.add_argument("--every", type=int, default=2)
    every = parser.parse_args().every
    cases = {name: list(some) for name, some in training_drives().items()}
    studies = {name: read_drives(some) for name, some in cases.items()}
    claims: dict[str, list[list[tuple[float, bool]]]] = {key: [] for key in phone_judge.TEMPER}
    for name in cases:
        for key, (raw, now) in judge_held_out(name, studies, cases[name][::every]).items():
            claims[key].append(raw.sure)
            print(line(f"{name} driver, held out, {key}", now), flush=True)
    print(f"TEMPER = { {key: fit_temper(some) for key, some in claims.items()} }")


if __name__ == "__main__":
    main()
