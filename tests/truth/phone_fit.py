"""Fits the weights of the judgement on candidates from a phone alone, and prints the module that holds them.

    python -m tests.truth.phone_fit > shiftlog/detect/phone_weights.py

Logistic regression, one for each kind of candidate, on every figure and every product of two, with a ridge on the
standardised terms; then the weakest terms are dropped and the rest fitted anew until ``TERMS`` are left. A second,
small regression judges each candidate beside the others of its drive. The drives are 48 of the first driver (seeds from
1000), 120 of the second and 140 of the third (seeds from 0), a third of both with a phone that is turned by 3° and off
by 0.3 m/s²; every third drive is judged without its speed. Figures are reported on other seeds.
A candidate whose ends lie within 0.25 s and 0.35 s of a true gap's is a shift; one that overlaps a shift without that,
or a journey by way of neutral, teaches nothing.
"""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from itertools import chain

import numpy as np
from scipy.optimize import minimize

from shiftlog.detect import phone_judge
from shiftlog.detect.phone_coast import Coast, find_coast
from shiftlog.detect.phone_evidence import build_felt
from shiftlog.detect.phone_features import read_features
from shiftlog.detect.phone_habits import WORTH, read_habits
from shiftlog.detect.phone_pairs import KINDS, Pair, find_pairs
from tests.truth.other_drive import Phone
from tests.truth.phone_truth import Event, PhoneCase, other_cases, synth_cases, third_cases

TERMS, RIDGE, DROPPED = 100, 10.0, 0.4
"""The ridge is strong on purpose: the same physics must hold in a car that none of the three drives."""

TRUE_PLATEAUS = 4
"""So many true plateaus tell a drive's level."""

HEAD = '''"""Weights of the judgement on candidates from a phone alone.

Fitted by ``python -m tests.truth.phone_fit`` to candidates from drives with known truth; see there for the drives,
their seeds and how the terms were chosen. By kind of candidate: the constant, then (weight, first figure, second
figure) of each term, the product of two figures of ``FEATURES`` by their places; -1 stands for 1.
"""

HABITS = (...)
"""Of the second judgement, beside the others of the drive: the constant, then the weight of each of its figures."""

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


@dataclass(frozen=True, eq=False, kw_only=True)
class Study:
    """The candidates of one drive. features : (n, f); labels : (n,) 1, 0 or -1 where it teaches nothing"""

    pairs: list[Pair]
    coast: Coast
    features: np.ndarray
    labels: np.ndarray


def read_drives(cases: Iterable[PhoneCase]) -> list[Study]:
    return [study for index, case in enumerate(cases) if (study := _read_drive(case, with_speed=index % 3 != 2)).pairs]


def _read_drive(case: PhoneCase, *, with_speed: bool) -> Study:
    """Figures at the level the true plateaus share, where there are enough of them."""
    pairs = [p for felt in build_felt(case.signals.accel_vehicle["body"]) for p in find_pairs(felt)]
    coast = find_coast(pairs, case.signals.vehicle_speed if with_speed else None)
    labels = np.array([{None: -1, False: 0, True: 1}[label(p, case.events)] for p in pairs])
    true = [p for p, one in zip(pairs, labels, strict=True) if one == 1 and p.kind == "gap"]
    if len(true) >= TRUE_PLATEAUS:
        off = float(np.median([p.middle for p in true] - coast.levels(true)))
        coast = replace(coast, rolling=coast.rolling + off)
    features = np.array([read_features(pair, coast) for pair in pairs])
    return Study(pairs=pairs, coast=coast, features=features, labels=labels)


def collect(sets: list[list[Study]]) -> dict[str, tuple[np.ndarray, np.ndarray, np.ndarray]]:
    """Figures (n, f), labels (n,) and weights (n,) of all candidates, by kind; all drivers weigh the same."""
    parts: dict[str, list[tuple[np.ndarray, ...]]] = {kind: [] for kind in KINDS.values()}
    for studies, weight in zip(sets, _weigh(sets), strict=True):
        for one in studies:
            kinds = np.array([p.kind for p in one.pairs])
            for kind, rows in parts.items():
                taken = (kinds == kind) & (one.labels >= 0)
                rows.append((one.features[taken], one.labels[taken].astype(float), np.full(taken.sum(), weight)))
    return {k: tuple(np.concatenate(column) for column in zip(*v, strict=True)) for k, v in parts.items()}


def _weigh(sets: list[list[Study]]) -> np.ndarray:
    counts = np.array([sum(int((one.labels == 1).sum()) for one in studies) for studies in sets])
    return counts.mean() / counts


def fit_habits(sets: list[list[Study]], learnt: dict[str, Learnt]) -> list[float]:
    """Constant and weights of the second judgement, after the first has settled the level by itself."""
    phone_judge.TERMS.update({
        kind: (one.constant, one.weights, one.first - 1, one.second - 1) for kind, one in learnt.items()
    })  # fmt: skip
    rows = []
    for studies, weight in zip(sets, _weigh(sets), strict=True):
        for one in studies:
            features, coast, first = phone_judge.judge_alone(one.pairs, one.coast)
            habits = read_habits(one.pairs, features, coast, first)
            taken = (one.labels >= 0) & (first >= WORTH)
            rows.append((habits[taken], one.labels[taken].astype(float), np.full(taken.sum(), weight)))
    constant, weights = _fit_logistic(*(np.concatenate(column) for column in zip(*rows, strict=True)), ridge=0.1)
    return [constant, *weights]


def fit_terms(figures: np.ndarray, labels: np.ndarray, counted: np.ndarray) -> Learnt:
    """The terms that are left when the weakest have been dropped."""
    with_one = np.column_stack([np.ones(len(figures)), figures])
    first, second = (index[1:] for index in np.triu_indices(with_one.shape[1]))
    while True:
        terms = with_one[:, first] * with_one[:, second]
        mean, spread = terms.mean(axis=0), terms.std(axis=0) + 1e-9
        constant, standard = _fit_logistic((terms - mean) / spread, labels, counted, ridge=RIDGE)
        if standard.size <= TERMS:
            weights = standard / spread
            return Learnt(constant=constant - float(weights @ mean), weights=weights, first=first, second=second)
        kept = np.argsort(-np.abs(standard))[: max(TERMS, int(standard.size * (1 - DROPPED)))]
        kept.sort()
        first, second = first[kept], second[kept]


def _fit_logistic(
    terms: np.ndarray, labels: np.ndarray, counted: np.ndarray, *, ridge: float
) -> tuple[float, np.ndarray]:
    def loss(b: np.ndarray) -> tuple[float, np.ndarray]:
        score = b[0] + terms @ b[1:]
        off = counted * (1 / (1 + np.exp(-score)) - labels)
        slope = np.concatenate(([off.sum()], terms.T @ off + 2 * ridge * b[1:]))
        return float(counted @ (np.logaddexp(0, score) - labels * score) + ridge * b[1:] @ b[1:]), slope

    start = np.zeros(terms.shape[1] + 1)
    found = minimize(loss, start, jac=True, method="L-BFGS-B", options={"maxiter": 400}).x
    return float(found[0]), found[1:]


def write_table(learnt: dict[str, Learnt], habits: list[float]) -> str:
    lines = [HEAD.replace("(...)", f"({', '.join(f'{weight:.4g}' for weight in habits)})")]
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


def training_drives() -> list[Iterable[PhoneCase]]:
    """One set for each driver; no figure is reported on any of these drives."""
    turned = Phone(turn_deg=3.0, bias_mps2=0.3)
    return [
        synth_cases(48, first_seed=1000),
        chain(other_cases(80, first_seed=0), other_cases(40, first_seed=80, phone=turned)),
        chain(third_cases(100, first_seed=0), third_cases(40, first_seed=100, phone=turned)),
    ]


if __name__ == "__main__":
    drivers = [read_drives(cases) for cases in training_drives()]
    by_kind = {kind: fit_terms(*rows) for kind, rows in collect(drivers).items()}
    print(write_table(by_kind, fit_habits(drivers, by_kind)))
