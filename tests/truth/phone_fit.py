"""Fits the weights of the judgement on candidates from a phone alone, and prints the module that holds them.

    python -m tests.truth.phone_fit > shiftlog/detect/phone_weights.py

Logistic regression, one for each kind of candidate: each figure has a curve, straight between five knots and level
beyond them, and the heights of all curves are added up. A ridge keeps the steps from knot to knot small. A second,
small regression judges each candidate beside the others of its drive. The drives are of six drivers in cars made four
ways: 36 of the first driver (seeds from 1000), 60 of the second and of the third (seeds from 0 and from 80 or 100), a
third of both with a phone that is turned by 3° and off by 0.3 m/s², and 40 of each of those who follow the road (seeds
from 0); every third drive is judged without its speed. All drivers weigh the same. Figures are reported on other seeds.
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
from shiftlog.detect.phone_features import FEATURES, read_features
from shiftlog.detect.phone_habits import WORTH, read_habits
from shiftlog.detect.phone_pairs import KINDS, Pair, find_pairs
from tests.truth.other_drive import Phone
from tests.truth.phone_truth import Event, PhoneCase, other_cases, road_cases, synth_cases, third_cases
from tests.truth.road_driver import STYLES

RIDGE = 10.0
"""Strong on purpose: the same physics must hold in a car that none of the drivers has."""

QUANTILES = (0.05, 0.25, 0.5, 0.75, 0.95)
"""Knots lie at these quantiles of shifts and other candidates alike."""

NARROWEST = 0.05
"""Knots lie at least this far apart."""

TRUE_PLATEAUS = 4
"""So many true plateaus tell a drive's level."""

HEAD = '''"""What each figure of a candidate from a phone alone tells for or against a change of gear.

Fitted by ``python -m tests.truth.phone_fit`` to candidates from drives with known truth; see there for the drives and
their seeds. A figure's curve is straight between its knots and level beyond them.
"""

HABITS = (...)
"""Of the second judgement, beside the others of the drive: the constant, then the weight of each of its figures."""
'''


Learnt = tuple[float, np.ndarray]
"""Constant, and the heights (f, 5) of the curves at their knots."""


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


def fit_habits(sets: list[list[Study]], learnt: dict[str, Learnt], knots: np.ndarray) -> list[float]:
    """Constant and weights of the second judgement, after the first has settled the level by itself."""
    phone_judge.CURVES, phone_judge.KNOTS = learnt, knots
    rows = []
    for studies, weight in zip(sets, _weigh(sets), strict=True):
        for one in studies:
            features, coast, first = phone_judge.judge_alone(one.pairs, one.coast)
            habits = read_habits(one.pairs, features, coast, first)
            taken = (one.labels >= 0) & (first >= WORTH)
            rows.append((habits[taken], one.labels[taken].astype(float), np.full(taken.sum(), weight)))
    constant, weights = _fit_logistic(*(np.concatenate(column) for column in zip(*rows, strict=True)), ridge=0.1)
    return [constant, *weights]


def find_knots(sets: list[list[Study]]) -> np.ndarray:
    """Knots (f, 5) of the curves, at quantiles of shifts and of as many other candidates."""
    rng, rows = np.random.default_rng(0), []
    for studies in sets:
        features = np.concatenate([one.features for one in studies])
        labels = np.concatenate([one.labels for one in studies])
        shifts = np.flatnonzero(labels == 1)
        rows += [features[shifts], features[rng.choice(np.flatnonzero(labels == 0), shifts.size)]]
    knots = np.round(np.quantile(np.concatenate(rows), QUANTILES, axis=0).T, 2)
    for column in range(1, knots.shape[1]):
        knots[:, column] = np.maximum(knots[:, column], knots[:, column - 1] + NARROWEST)
    return knots


def fit_curves(figures: np.ndarray, labels: np.ndarray, counted: np.ndarray, knots: np.ndarray) -> Learnt:
    """What each figure tells, by kind of candidate: figures (n, f), knots (f, 5)."""
    climbs = np.clip((figures[:, :, None] - knots[:, :-1]) / np.diff(knots), 0.0, 1.0).reshape(len(figures), -1)
    mean, spread = climbs.mean(axis=0), climbs.std(axis=0) + 0.05
    constant, standard = _fit_logistic((climbs - mean) / spread, labels, counted, ridge=RIDGE)
    steps = standard / spread
    heights = np.cumsum(np.pad(steps.reshape(len(knots), -1), ((0, 0), (1, 0))), axis=1)
    middle = heights.mean(axis=1, keepdims=True)
    return constant - float(steps @ mean) + float(middle.sum()), heights - middle


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


def write_table(learnt: dict[str, Learnt], habits: list[float], knots: np.ndarray) -> str:
    lines = [HEAD.replace("(...)", f"({', '.join(f'{weight:.4g}' for weight in habits)})"), "KNOTS = ("]
    lines += [f"    ({', '.join(f'{x:g}' for x in row)}),  # {name}" for name, row in zip(FEATURES, knots, strict=True)]
    lines += [")", '"""Where the curves of ``FEATURES`` bend."""', ""]
    lines.append("WEIGHTS: dict[str, tuple[float, tuple[tuple[float, ...], ...]]] = {")
    for kind, (constant, heights) in learnt.items():
        lines.append(f'    "{kind}": ({constant:.3f}, (')
        lines += [f"        ({', '.join(f'{x:.2f}' for x in row)}),  # {name}"
                  for name, row in zip(FEATURES, heights, strict=True)]  # fmt: skip
        lines.append("    )),")
    lines += ["}", '"""By kind: the constant, and each figure\'s heights at its knots (log odds)."""']
    return "\n".join(lines)


def training_drives() -> dict[str, Iterable[PhoneCase]]:
    """One set for each driver; no figure is reported on any of these drives."""
    turned = Phone(turn_deg=3.0, bias_mps2=0.3)
    return {
        "first": synth_cases(36, first_seed=1000),
        "second": chain(other_cases(40, first_seed=0), other_cases(20, first_seed=80, phone=turned)),
        "third": chain(third_cases(40, first_seed=0), third_cases(20, first_seed=100, phone=turned)),
        **{style: road_cases(style, 40, first_seed=0) for style in STYLES},
    }


if __name__ == "__main__":
    drivers = [read_drives(cases) for cases in training_drives().values()]
    bends = find_knots(drivers)
    by_kind = {kind: fit_curves(*rows, bends) for kind, rows in collect(drivers).items()}
    print(write_table(by_kind, fit_habits(drivers, by_kind, bends), bends))
