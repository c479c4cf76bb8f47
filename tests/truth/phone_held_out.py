"""How shifts from a phone are found for a driver that no weight was fitted to, and what makes their confidence honest.

    python -m tests.truth.phone_held_out --every 2

Each driver in turn is left out of the fit, and his drives are judged by weights of the other two. What is claimed there
and what is true give ``TEMPER`` of ``shiftlog/detect/phone_judge.py``: a constant and a slope for the log odds, fitted
to the second and the third driver alike. The first one's habits are left out of that, as he seldom does what looks like
a change of gear and is none; his figures are printed all the same. ``--every`` judges every so many of the drives.
"""

import argparse
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager

import numpy as np
from scipy.optimize import minimize

from shiftlog.detect import phone_judge
from shiftlog.model.settings import Settings
from tests.truth.phone_fit import Learnt, Study, collect, fit_habits, fit_terms, read_drives, training_drives
from tests.truth.phone_study import PhoneTally, line, score
from tests.truth.phone_truth import PhoneCase

DRIVERS = ("first", "second", "third")
TEMPERED = ("second", "third")
LEAST = 0.1
"""Claims below this are of no use to anybody and tell nothing of those above."""


@contextmanager
def judging_by(learnt: Mapping[str, Learnt], habits: Sequence[float], temper: tuple[float, float]) -> Iterator[None]:
    """The judgement with other weights, for a while."""
    own = phone_judge.TERMS, phone_judge.HABITS, phone_judge.TEMPER
    phone_judge.TERMS = {k: (one.constant, one.weights, one.first - 1, one.second - 1) for k, one in learnt.items()}
    phone_judge.HABITS, phone_judge.TEMPER = tuple(habits), temper
    try:
        yield
    finally:
        phone_judge.TERMS, phone_judge.HABITS, phone_judge.TEMPER = own


def judge_held_out(
    name: str, studies: Mapping[str, list[Study]], cases: Sequence[PhoneCase], *, tempers: Sequence[tuple[float, float]]
) -> list[PhoneTally]:
    """What is found of one driver's drives by weights fitted to the others, as it is and then with each temper."""
    own = phone_judge.TERMS
    phone_judge.TERMS = dict(own)
    others = [studies[other] for other in DRIVERS if other != name]
    learnt = {kind: fit_terms(*rows) for kind, rows in collect(others).items()}
    habits = fit_habits(others, learnt)
    phone_judge.TERMS = own
    tallies = []
    for temper, least in (((0.0, 1.0), LEAST), *((temper, Settings().phone_least_probability) for temper in tempers)):
        with judging_by(learnt, habits, temper):
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
    cases = dict(zip(DRIVERS, (list(some) for some in training_drives()), strict=True))
    studies = {name: read_drives(some) for name, some in cases.items()}
    claims = {}
    for name in DRIVERS:
        raw, now = judge_held_out(name, studies, cases[name][::every], tempers=[phone_judge.TEMPER])
        claims[name] = raw.sure
        print(line(f"{name} driver, held out", now), flush=True)
    print(f"TEMPER = {fit_temper([claims[name] for name in TEMPERED])}")


if __name__ == "__main__":
    main()
