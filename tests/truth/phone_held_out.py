"""How shifts from a phone are found for a driver that no weight was fitted to, and what makes their confidence honest.

    python -m tests.truth.phone_held_out --every 2

Each driver in turn is left out of the fit, and his drives are judged by curves of the others. What is claimed there and
what is true give ``TEMPER`` of ``shiftlog/detect/phone_judge.py``: a constant and a slope for the log odds, fitted to
all drivers alike. ``--every`` judges every so many of the drives.
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

LEAST = 0.1
"""Claims below this are of no use to anybody and tell nothing of those above."""


@contextmanager
def judging_by(
    learnt: Mapping[str, Learnt], habits: Sequence[float], knots: np.ndarray, temper: tuple[float, float]
) -> Iterator[None]:
    """The judgement with other curves, for a while."""
    own = phone_judge.CURVES, phone_judge.HABITS, phone_judge.KNOTS, phone_judge.TEMPER
    phone_judge.CURVES, phone_judge.HABITS, phone_judge.KNOTS = dict(learnt), tuple(habits), knots
    phone_judge.TEMPER = temper
    try:
        yield
    finally:
        phone_judge.CURVES, phone_judge.HABITS, phone_judge.KNOTS, phone_judge.TEMPER = own


def judge_held_out(
    name: str, studies: Mapping[str, list[Study]], cases: Sequence[PhoneCase], *, tempers: Sequence[tuple[float, float]]
) -> list[PhoneTally]:
    """What is found of one driver's drives by curves fitted to the others, as it is and then with each temper."""
    others = [some for other, some in studies.items() if other != name]
    knots = find_knots(others)
    learnt = {kind: fit_curves(*rows, knots) for kind, rows in collect(others).items()}
    with judging_by(learnt, phone_judge.HABITS, knots, (0.0, 1.0)):
        habits = fit_habits(others, learnt)
    tallies = []
    for temper, least in (((0.0, 1.0), LEAST), *((temper, Settings().phone_least_probability) for temper in tempers)):
        with judging_by(learnt, habits, knots, temper):
            tallies.append(score(cases, settings=Settings(phone_least_probability=least)))
    return tallies


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
    claims = {}
    for name in cases:
        raw, now = judge_held_out(name, studies, cases[name][::every], tempers=[phone_judge.TEMPER])
        claims[name] = raw.sure
        print(line(f"{name} driver, held out", now), flush=True)
    print(f"TEMPER = {fit_temper(list(claims.values()))}")


if __name__ == "__main__":
    main()
