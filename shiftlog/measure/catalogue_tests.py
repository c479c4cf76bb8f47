"""The measures that a marked test alone gives: which test, which of its figures, which way is better."""

from shiftlog.measure.entry import CLASH_NEEDS, DEFINITION, LEVER_NEEDS, Measure

PEARSON = "Clopper and Pearson, Biometrika 26 (1934)"


def _share(key: str, label: str, test: str, figure: str, counted: str, better: str, definition: str) -> Measure:
    """A share of tries. A difference under five in 100 does not matter (common practice, no source)."""
    return Measure(
        key=key, label=label, unit="", definition=definition, source=PEARSON, better=better, plausible=(0.0, 1.0),
        of="test", needs=LEVER_NEEDS, margin=0.05, counted=counted, test=test, figure=figure,
    )  # fmt: skip


def _size(
    key: str, label: str, unit: str, test: str, figure: str, better: str, plausible: tuple[float, float],
    definition: str, *, margin: float | None = None, size_only: bool = False, least: bool = False,
    needs: str = LEVER_NEEDS,
) -> Measure:  # fmt: skip
    """A figure with the uncertainty that the repeats within its test leave. Margins: common practice, no source."""
    return Measure(
        key=key, label=label, unit=unit, definition=definition, source=DEFINITION, better=better, plausible=plausible,
        of="test", needs=needs, margin=margin, test=test, figure=figure, size_only=size_only, least=least,
    )  # fmt: skip


TEST_MEASURES = (
    _share("no_motion_share", "Let-goes without motion", "release", "no_motion", "let-go", "lower",
           "share of let-goes in a marked test after which the lever made no motion"),
    _size("let_go_offset_mm", "Let-go offset", "mm", "release", "offset_mm", "lower", (0.0, 100.0),
          "how far from the home plane's centre the lever lies when let go, sign left out", margin=1.0,
          size_only=True),
    _share("lockout_held_share", "Lock-out holds", "lockout", "held", "try", "higher",
           "share of tries at reverse, two fingers strong, that the lock-out held"),
    _share("lockout_reverse_share", "Reverse past the lock-out", "lockout", "went_in", "try", "lower",
           "share of tries at the lock-out in which the lever went into reverse"),
    _size("lockout_left_mm", "Left at the lock-out", "mm", "lockout", "left_mm", "higher", (0.0, 60.0),
          "how much way to reverse was left where the lock-out held, usually", margin=1.0),
    _size("clearance_mm", "Clearance", "mm", "clearance", "clearance_mm", "higher", (0.0, 15.0),
          "lever travel left between where the lever lies when let go in gear and where the gate stops it; the "
          "smallest of the gears stands for all", margin=0.3, least=True),
    _size("free_play_mm", "Free play", "mm", "free_play", "free_play_mm", "lower", (0.0, 30.0),
          "how far the lever moves to and fro under a light finger before it moves anything", margin=0.3),
    _size("side_play_mm", "Free play across", "mm", "free_play", "side_play_mm", "lower", (0.0, 30.0),
          "free play across the gate", margin=0.3),
    _size("give_mm_per_n", "Give", "mm/N", "free_play", "give_mm_per_n", "lower", (0.0, 1.0),
          "how far the lever gives for each newton beyond its free play", needs=f"{LEVER_NEEDS} and its force"),
    _size("loop_mm", "Friction loop", "mm", "free_play", "loop_mm", "lower", (0.0, 30.0),
          "how far the lever leads the tower to and fro", margin=0.3, needs="sensors at the lever and at the tower"),
    _size("stretch_mm", "Stretch", "mm", "free_play", "stretch_mm", "lower", (0.0, 30.0),
          "how far the lever leads the tower beyond that while it is held against something", margin=0.3,
          needs="sensors at the lever and at the tower"),
    _size("road_loop_mm", "Friction loop under way", "mm", "two_ended", "loop_mm", "lower", (0.0, 30.0),
          "how far the lever leads the tower to and fro in ordinary shifts", margin=0.3,
          needs="sensors at the lever and at the tower"),
    _size("road_stretch_mm", "Stretch under way", "mm", "two_ended", "stretch_mm", "lower", (0.0, 30.0),
          "how far the lever leads the tower beyond that while a cone holds it", margin=0.3,
          needs="sensors at the lever and at the tower"),
    _size("runs_in_from", "Runs in from", "", "detent", "runs_in_from", "lower", (0.0, 1.0),
          "depth from which the detent pulls the lever in", margin=0.05),
    _size("run_in_mmps", "Run-in speed", "mm/s", "detent", "run_in_mmps", "higher", (0.0, 2000.0),
          "how fast the detent pulls the lever in"),
    _size("quiet_after_s", "Spin-down", "s", "spin_down", "quiet_after_s", "lower", (0.0, 30.0),
          "wait with the clutch down after which reverse goes in quietly", margin=0.5,
          needs=f"{LEVER_NEEDS} and {CLASH_NEEDS}"),
    _size("plateau_rpm", "Shaft driven with the clutch down", "rpm", "spin_down", "plateau_rpm", "lower",
          (0.0, 3000.0), "speed at which a clutch that drags drives the input shaft on", margin=20.0,
          needs=f"{LEVER_NEEDS} and {CLASH_NEEDS}"),
    _share("engine_refused_share", "Tries refused, engine off and idling", "spin_down", "refusals", "try", "lower",
           "share of tries at a gear at standstill that were refused"),
    _size("bearing_level_db", "Noise at the gearbox", "dB", "bearing_noise", "level_db", "lower", (-60.0, 60.0),
          "level over 1 m/s² in one state of the clutch and one band", margin=3.0, needs=CLASH_NEEDS),
    _share("gate_strike_share", "Pushes that strike the gate", "gate_entry", "strikes", "push", "lower",
           "share of pushes that struck the gate between two planes"),
    _size("entry_offset_mm", "Gate entry offset", "mm", "gate_entry", "entry_offset_mm", "lower", (0.0, 30.0),
          "how far from the plane's centre pushes into a gear begin, sign left out", margin=1.0, size_only=True),
    _size("wrong_plane_room_mm", "Room to the wrong plane", "mm", "gate_entry", "wrong_plane_room_mm", "higher",
          (-30.0, 30.0), "least room that pushes left to the wrong plane; the smallest of the gears stands for all",
          margin=1.0, least=True),
    _share("jump_out_share", "Jumping out", "jump_out", "jump_outs", "try", "lower",
           "share of spans under drive or on the overrun that ended as the gear let go"),
    _size("torque_move_mm", "Lever moves with the torque", "mm", "jump_out", "moves_mm", "lower", (0.0, 30.0),
          "how far the lever in gear moves as torque comes, sign left out", margin=0.5, size_only=True),
    _size("torque_drift_mm", "Lever drifts under torque", "mm", "jump_out", "drift_mm", "lower", (-10.0, 30.0),
          "how far the lever walks out of the gear while torque lasts", margin=0.3),
    _share("warm_up_hard_share", "Refused or ground while warming up", "warm_up", "hard", "shift", "lower",
           "share of the shifts of one state of warmth that were refused or ground"),
    _size("warm_up_stand_ms", "Stand while warming up", "ms", "warm_up", "stand_ms", "lower", (0.0, 1500.0),
          "how long the lever stands on its way in, in one state of warmth", margin=20.0),
)  # fmt: skip
