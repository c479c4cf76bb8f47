"""Fits the weights of the judgement on candidates from a phone alone, and prints the module that holds them.

    python -m tests.truth.phone_fit > shiftlog/detect/phone_weights.py

Logistic regression, one for each kind of candidate, on every figure and every product of two, with a ridge on the
standardised terms; then the weakest terms are dropped and the rest fitted anew until ``TERMS`` are left. The drives are
48 of the first driver (seeds from 1000) and 120 of the second (seeds from 0), a third of the latter with a phone that
is turned by 3° and off by 0.3 m/s²; every third drive is judged without its speed. Figures are reported on other seeds.
A candidate whose ends lie within 0.25 s and 0.35 s of a true gap's is a shift; one that overlaps a shift without that,
or a journey by way of neutral, teaches nothing.
"""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from itertools import chain

import numpy as np
from scipy.optimize import minimize

from shiftlog.detect.phone_coast import find_coast
from shiftlog.detect.phone_evidence import build_felt
from shiftlog.detect.phone_features import read_features
from shiftlog.detect.phone_pairs import KINDS, Pair, find_pairs
from tests.truth.other_drive import Phone
from tests.truth.phone_truth import Event, PhoneCase, other_cases, synth_cases

TERMS, RIDGE, DROPPED = 60, 1.0, 0.4

HEAD = '''"""Weights of the judgement on candidates from a phone alone.

Fitted by ``python -m tests.truth.phone_fit`` to candidates from drives with known truth; see there for the drives,
their seeds and how the terms were chosen. By kind of candidate: the constant, then (weight, first figure, second
figure) of each term, the product of two figures of ``FEATURES`` by their places; -1 stands for 1.
"""

WEIGHTS: dict[str, tuple[float, tuple[tuple[float, int, int], ...]]] = {'''


@dataclass(frozen=True, eq=False, kw_only=True)
class Learnt:
    """constant, and the terms: weights (k,), places (k,) of both figures, with 0 for the 1 put in front."""

    constant: float
    weights: np.ndarray
    first: np.ndarray
    second: np.ndarray


def label(pair: Pair, events: Iterable[Event]) -> bool | None:
    """Whether a candidate is a shift; None where it teaches nothing."""
    answer: bool | None = False
    for event in events:
        begin, end = event.gap or (event.open_s + 0.08, event.end_s + 0.15)
        if event.kind == "other":
            answer = None if pair.start_s < end + 0.3 and pair.end_s > begin - 0.3 else answer
        elif _fits(pair, event, begin, end):
            return True
        elif abs(pair.start_s - begin) < 0.7 and pair.start_s < end and pair.end_s > begin:
            answer = None
    return answer


def _fits(pair: Pair, event: Event, begin: float, end: float) -> bool:
    if event.gap is None:
        return abs(pair.start_s - begin) < 0.35 and -0.35 < pair.end_s - event.end_s < 0.7
    return abs(pair.start_s - begin) < 0.25 and abs(pair.end_s - end) < 0.35


def collect(cases: Iterable[PhoneCase]) -> dict[str, tuple[np.ndarray, np.ndarray]]:
    """Figures (n, f) and labels (n,) of all candidates, by kind."""
    rows: dict[str, list[tuple[np.ndarray, bool]]] = {kind: [] for kind in KINDS.values()}
    for index, case in enumerate(cases):
        pairs = [p for felt in build_felt(case.signals.accel_vehicle["body"]) for p in find_pairs(felt)]
        signals = replace(case.signals, vehicle_speed=None) if index % 3 == 2 else case.signals
        coast = find_coast(pairs, signals.vehicle_speed)
        for pair in pairs:
            answer = label(pair, case.events)
            if answer is not None:
                rows[pair.kind].append((read_features(pair, coast), answer))
    return {k: (np.array([r[0] for r in v]), np.array([r[1] for r in v], float)) for k, v in rows.items()}


def fit_terms(figures: np.ndarray, labels: np.ndarray) -> Learnt:
    """The terms that are left when the weakest have been dropped."""
    with_one = np.column_stack([np.ones(len(figures)), figures])
    first, second = (index[1:] for index in np.triu_indices(with_one.shape[1]))
    while True:
        terms = with_one[:, first] * with_one[:, second]
        mean, spread = terms.mean(axis=0), terms.std(axis=0) + 1e-9
        constant, standard = _fit_logistic((terms - mean) / spread, labels)
        if standard.size <= TERMS:
            weights = standard / spread
            return Learnt(constant=constant - float(weights @ mean), weights=weights, first=first, second=second)
        kept = np.argsort(-np.abs(standard))[: max(TERMS, int(standard.size * (1 - DROPPED)))]
        kept.sort()
        first, second = first[kept], second[kept]


def _fit_logistic(terms: np.ndarray, labels: np.ndarray) -> tuple[float, np.ndarray]:
    def loss(b: np.ndarray) -> tuple[float, np.ndarray]:
        score = b[0] + terms @ b[1:]
        off = 1 / (1 + np.exp(-score)) - labels
        slope = np.concatenate(([off.sum()], terms.T @ off + 2 * RIDGE * b[1:]))
        return float((np.logaddexp(0, score) - labels * score).sum() + RIDGE * b[1:] @ b[1:]), slope

    start = np.zeros(terms.shape[1] + 1)
    found = minimize(loss, start, jac=True, method="L-BFGS-B", options={"maxiter": 400}).x
    return float(found[0]), found[1:]


def write_table(learnt: dict[str, Learnt]) -> str:
    lines = [HEAD]
    for kind, one in learnt.items():
        lines.append(f'    "{kind}": ({one.constant:.4g}, (')
        line = "       "
        for weight, first, second in zip(one.weights, one.first - 1, one.second - 1, strict=True):
            term = f" ({weight:.4g}, {first}, {second}),"
            if len(line) + len(term) > 116:
                lines.append(line)
                line = "       "
            line += term
        lines += [line, "    )),"]
    return "\n".join([*lines, "}  # fmt: skip"])


if __name__ == "__main__":
    drives = chain(
        synth_cases(48, first_seed=1000),
        other_cases(80, first_seed=0),
        other_cases(40, first_seed=80, phone=Phone(turn_deg=3.0, bias_mps2=0.3)),
    )
    print(write_table({kind: fit_terms(*rows) for kind, rows in collect(drives).items()}))
