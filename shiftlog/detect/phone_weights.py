"""What each figure of a candidate from a phone alone tells for or against a change of gear.

Fitted by ``python -m tests.truth.phone_fit`` to candidates from drives with known truth; see there for the drives and
their seeds. A figure's curve is straight between its knots and level beyond them.
"""

HABITS = (-1.391, 1.018, 1.203, 0.03081, 0.2705, 0.01891, 0.05451, -0.4947)
"""Of the second judgement, beside the others of the drive: the constant, then the weight of each of its figures."""

KNOTS = (
    (0, 0.05, 0.43, 0.78, 1),  # coast stay
    (-2, -0.33, 0.22, 1.86, 2),  # above coasting
    (-0.97, -0.42, 0.1, 0.58, 1.01),  # length
    (-2.08, -1.24, -0.35, 0.43, 1.21),  # step out
    (-1.53, -0.14, 0.85, 1.73, 2.96),  # depth over road
    (-1.2, -0.69, -0.36, 0.41, 1.13),  # fall time
    (-0.89, -0.35, -0.1, 0.12, 0.83),  # sharp out
    (-0.56, 0, 0.61, 1.47, 2.74),  # swing at take-up
    (-1.17, 0, 0.13, 0.55, 2.05),  # dip at take-up
    (-1.34, -0.35, 0.29, 1.18, 2.55),  # flat
    (-3.12, -0.72, 0, 0.42, 3),  # drive ratio
    (0.25, 0.56, 0.75, 0.81, 1),  # speed
)
"""Where the curves of ``FEATURES`` bend."""

WEIGHTS: dict[str, tuple[float, tuple[tuple[float, ...], ...]]] = {
    "gap": (
        -3.796,
        (
            (-1.59, -1.88, -0.19, 1.62, 2.04),  # coast stay
            (-0.40, 1.12, 1.96, -0.60, -2.08),  # above coasting
            (0.56, 1.26, 1.30, -0.07, -3.05),  # length
            (-1.45, -0.98, -0.05, 1.30, 1.18),  # step out
            (-1.27, -0.75, 0.39, 1.33, 0.30),  # depth over road
            (0.05, 0.80, -0.02, -0.19, -0.64),  # fall time
            (-1.32, 0.01, 0.22, 0.28, 0.81),  # sharp out
            (-1.20, -1.41, 0.20, 1.14, 1.26),  # swing at take-up
            (-0.47, -0.85, -0.72, 0.61, 1.43),  # dip at take-up
            (-0.33, 0.30, 0.67, 0.28, -0.92),  # flat
            (-0.23, 0.65, 0.09, 0.55, -1.06),  # drive ratio
            (-0.66, 0.36, -0.38, 0.47, 0.20),  # speed
        ),
    ),
    "bump": (
        -3.752,
        (
            (-1.16, -1.25, -0.21, 0.89, 1.73),  # coast stay
            (2.10, -0.24, 1.00, -0.89, -1.96),  # above coasting
            (0.46, 1.70, 1.34, -0.43, -3.07),  # length
            (-0.37, 0.26, 0.19, 0.08, -0.15),  # step out
            (-1.00, -0.89, 0.36, 0.98, 0.56),  # depth over road
            (-0.40, -0.06, -0.12, 0.49, 0.09),  # fall time
            (-1.07, 0.38, 0.18, 0.32, 0.20),  # sharp out
            (-1.42, -1.17, -0.10, 1.12, 1.58),  # swing at take-up
            (-0.06, -0.02, -0.66, 0.39, 0.34),  # dip at take-up
            (0.98, 0.78, 0.37, -0.68, -1.44),  # flat
            (-0.59, 0.46, -0.07, -0.07, 0.27),  # drive ratio
            (-0.97, 0.35, -0.26, 0.51, 0.37),  # speed
        ),
    ),
    "rise": (
        -4.251,
        (
            (-0.44, -2.20, -0.73, 1.32, 2.04),  # coast stay
            (1.11, 0.56, 1.68, -1.02, -2.34),  # above coasting
            (1.29, 1.11, 1.66, -0.32, -3.73),  # length
            (-1.36, -0.05, 0.11, 0.50, 0.80),  # step out
            (-0.24, -0.11, 0.82, 0.44, -0.90),  # depth over road
            (-0.31, 0.26, 0.21, 0.37, -0.53),  # fall time
            (-0.86, 0.32, 0.29, 0.30, -0.04),  # sharp out
            (-1.54, -1.36, -0.04, 1.09, 1.85),  # swing at take-up
            (-2.02, -0.42, -0.35, 1.22, 1.58),  # dip at take-up
            (-0.21, -0.33, 0.05, 0.63, -0.15),  # flat
            (-0.56, 0.32, 0.47, 0.19, -0.41),  # drive ratio
            (-0.98, 0.33, -0.32, 0.66, 0.32),  # speed
        ),
    ),
    "fall": (
        -4.129,
        (
            (-1.48, -2.06, -0.41, 1.20, 2.75),  # coast stay
            (0.00, 0.01, 1.67, -0.54, -1.14),  # above coasting
            (0.14, 1.34, 1.64, -0.36, -2.76),  # length
            (-2.39, -0.47, 0.48, 1.67, 0.71),  # step out
            (0.28, 0.38, 0.69, 0.03, -1.38),  # depth over road
            (-0.05, 0.41, -0.09, 0.05, -0.33),  # fall time
            (-0.99, -0.29, 0.20, 0.48, 0.60),  # sharp out
            (-1.67, -1.61, -0.05, 1.38, 1.96),  # swing at take-up
            (0.37, -0.20, -0.43, 0.41, -0.15),  # dip at take-up
            (0.11, -0.12, 0.26, 0.40, -0.64),  # flat
            (-0.42, 0.27, 0.33, 0.12, -0.30),  # drive ratio
            (-0.31, 0.43, -0.47, 0.32, 0.04),  # speed
        ),
    ),
}
"""By kind: the constant, and each figure's heights at its knots (log odds)."""
