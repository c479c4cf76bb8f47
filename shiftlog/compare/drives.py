"""Before against after: one row for each measure over all kinds of shift, and one for each kind."""

from collections.abc import Mapping, Sequence

from shiftlog.compare.alike import find_bands, find_strangers, say_cold_cure
from shiftlog.compare.caveats import check_same_car, find_caveats, find_hand
from shiftlog.compare.cold_stretch import find_cold_sides, say_cold, say_wanted
from shiftlog.compare.drafts import Draft, draft_rows
from shiftlog.compare.equivalence import try_equivalence
from shiftlog.compare.grown import find_grown, say_grown
from shiftlog.compare.guard import guard_cold, guard_rows
from shiftlog.compare.guided_rows import draft_guided
from shiftlog.compare.kinds import ALL
from shiftlog.compare.multiplicity import adjust_benjamini_hochberg, gate_rows
from shiftlog.compare.names import name_drives
from shiftlog.compare.pace import find_pace, guard_pace, say_pace
from shiftlog.compare.pairing import BY_HAND, CAR_FIRST, compared_measures
from shiftlog.compare.past import NO_PAST, Past
from shiftlog.compare.places import find_unlike
from shiftlog.compare.repeats import choose_repeats
from shiftlog.compare.room import guard_room
from shiftlog.compare.same_drive import leave_out_copies
from shiftlog.compare.sample import Sample, take_sample
from shiftlog.compare.standstill import draft_standstill
from shiftlog.compare.verdict import ALPHA, Counts, judge
from shiftlog.measure.catalogue import MEASURES, Measure
from shiftlog.model.comparison import Comparison, Row
from shiftlog.model.result import DriveResult
from shiftlog.model.told import tell

ONLY_IF_SEEN = ("jumped_share",)
MARGIN_SUFFIX = "_margin"
"""``shift_time_s_margin = 0.03`` in a profile's ``[limits]`` is this shop's margin for that measure."""


def compare_drives(
    before: Sequence[DriveResult],
    after: Sequence[DriveResult],
    *,
    history: Sequence[DriveResult] = (),
    limits: Mapping[str, object] | None = None,
    cold_complaint: bool = False,
    asked: Sequence[str] = (),
) -> Comparison:
    """Compare drives before with drives after, of one car. CompareError where they cannot be compared.

    history : other drives of this workshop; those of one car, stage and driver tell how much drives differ with nothing
        changed, firmly where it is this car
    limits : ``[limits]`` of the car's profile, of which the margins count
    cold_complaint : what it is about comes with the cold gearbox: cold stretches alone are compared, and nothing is
        called better or the same where a side has none
    asked : measures that are told though nothing of the kind ever happened, as they are asked for
    """
    check_same_car(before, after)
    before, after, copies = leave_out_copies(before, after)
    sides = find_cold_sides(before, after) if cold_complaint else None
    if sides is not None:
        before, after = sides.before, sides.after
    names = name_drives(before), name_drives(after)
    repeats, from_others = choose_repeats(history, car=before[0].car, without=(*before, *after))
    rows = finish_rows(_happened(_draft_all(before, after, names, repeats, limits or {}), asked))
    bands = find_bands(before, after)
    hand, pace = find_hand(before, after, bands), find_pace(before, after, bands)
    further = tuple(said for said in (say_pace(pace), from_others) if said)
    caveats = (*copies, *find_caveats(before, after, hand), *further)
    advice: tuple[str, ...] = ()
    if sides is not None:
        rows, caveats = guard_cold(rows, sides), (*say_cold(sides), *caveats)
        advice = (say_wanted(),) if sides.lacks else ()
    rows = guard_pace(guard_room(rows, limits or {}), pace)
    guarded = guard_rows(rows, hand=hand, cold=say_cold_cure(before, after))
    caveats = (*map(say_grown, find_grown(guarded)), *caveats)
    return Comparison(
        before=names[0], after=names[1], caveats=caveats, rows=guarded, advice=(*advice, *_advise(guarded, before)),
        hand=hand,
    )  # fmt: skip


def tell_rows(before: Sequence[DriveResult], after: Sequence[DriveResult]) -> tuple[Row, ...]:
    """What drives of one side say where there is nothing to hold them against: rows as a comparison has them."""
    return tuple(finish_rows(_draft_all(before, after, (name_drives(before), name_drives(after)), NO_PAST, {})))


def _draft_all(
    before: Sequence[DriveResult], after: Sequence[DriveResult], names: tuple[Sequence[str], Sequence[str]],
    repeats: Past[Sequence[DriveResult]], limits: Mapping[str, object],
) -> list[Draft]:  # fmt: skip
    bands = find_bands(before, after) if before and after else None
    drafts: list[Draft] = []
    margins = find_margins(limits)
    for measure in compared_measures():
        sides = [
            [
                take_sample(r, measure, drive=n, unlike=u, bands=bands)
                for r, n, u in zip(side, own, _why_unlike(measure, side, other), strict=True)
            ]
            for side, other, own in ((before, after, names[0]), (after, before, names[1]))
        ]
        past = repeats.each(lambda group, m=measure: _take_past(m, group, (*before, *after)))
        drafts += draft_rows(measure, sides, past, margin=margins[measure.key])
    tested = draft_guided(before, after, names, repeats, margins)
    return _put_together(draft_standstill(drafts, before, after, names), tested)


def _happened(drafts: Sequence[Draft], asked: Sequence[str]) -> list[Draft]:
    """Without what never happened on either side and nobody asked for: no gear is expected to leave by itself."""
    quiet = set(ONLY_IF_SEEN) - set(asked)
    return [d for d in drafts if d.measure.key not in quiet or any(1.0 in v for s in d.values for v in s.values())]


def find_margins(limits: Mapping[str, object]) -> dict[str, float | None]:
    """The margin of every measure: this shop's, else the catalogue's."""
    found = {key: limits.get(key + MARGIN_SUFFIX, measure.margin) for key, measure in MEASURES.items()}
    return {key: margin if isinstance(margin, int | float) else None for key, margin in found.items()}


def _put_together(drafts: Sequence[Draft], tested: Sequence[Draft]) -> list[Draft]:
    """What the car does first, then guided tests, what follows the hand last.

    Of a figure that both the drives and a test give, the test's counts where both sides have one.
    """
    told = {d.measure.key for d in drafts}
    better = {d.measure.key for d in tested if d.group == ALL and d.evidence is not None}
    kept = [d for d in tested if d.measure.key not in told or d.measure.key in better]
    rest = [d for d in drafts if d.measure.key not in better]
    car = [d for d in rest if d.measure.key not in BY_HAND]
    return [*car, *kept, *(d for d in rest if d.measure.key in BY_HAND)]


def _why_unlike(measure: Measure, side: Sequence[DriveResult], other: Sequence[DriveResult]) -> list[str | None]:
    strangers, places = find_strangers(side, other), find_unlike(measure, side, other)
    return [stranger or place for stranger, place in zip(strangers, places, strict=True)]


def _take_past(measure: Measure, group: Sequence[DriveResult], compared: Sequence[DriveResult]) -> list[Sample]:
    """Repeat drives, those left out whose knocks were felt elsewhere than in the drives that are compared."""
    unlike = find_unlike(measure, group, compared)
    return [take_sample(r, measure, drive=r.head.id, unlike=u) for r, u in zip(group, unlike, strict=True)]


def finish_rows(drafts: Sequence[Draft]) -> list[Row]:
    """Rows with their corrected p and their verdicts."""
    p = {(d.measure.key, d.group): d.evidence.p for d in drafts if d.may_claim}
    # Rows of which neither direction is better stand behind all others, and take nothing from them.
    every = gate_rows({(d.measure.key, d.group): d.evidence.p for d in drafts if d.may_differ}, headline=ALL)
    gated = every | gate_rows(p, headline=ALL)
    explored = dict(zip(p, adjust_benjamini_hochberg(list(p.values())).tolist(), strict=True))
    shut = {key for (key, group), corrected in gated.items() if group == ALL and corrected > ALPHA}
    return [
        _row(
            d,
            gated.get((d.measure.key, d.group)),
            explored.get((d.measure.key, d.group)),
            gated=d.group != ALL and d.measure.key in shut,
        )
        for d in drafts
    ]


def _row(draft: Draft, p_corrected: float | None, p_explore: float | None, *, gated: bool) -> Row:
    measure, e, values = draft.measure, draft.evidence, draft.values
    counts = Counts(values=draft.counts, drives=(len(values[0]), len(values[1])), noun=draft.noun, lacks=draft.lacks)
    verdict = judge(measure, e, counts, margin=draft.margin, p_corrected=p_corrected, gated=gated)
    return Row(
        measure=measure.key, group=draft.group, unit=measure.unit, better=measure.better,
        drives_before=counts.drives[0], drives_after=counts.drives[1], n_before=counts.values[0],
        n_after=counts.values[1], before=e and e.before, after=e and e.after, difference=e and e.difference,
        ci_low=e and e.ci95[0], ci_high=e and e.ci95[1], p=e and e.p, p_corrected=p_corrected,
        cliffs_delta=e and e.cliffs_delta, smallest_change=e and e.smallest_change, margin=draft.margin, df=e and e.df,
        method=e.method if e else tell("method.none", "too few values for any"), left_out=draft.left_out,
        more_drives=verdict.need and verdict.need.more_drives, verdict=verdict.word,
        provisional=e is not None and not e.firm, why=verdict.why, values_before=values[0], values_after=values[1],
        times_shifts=verdict.need and verdict.need.times_shifts,
        history_df=e.estimate.history_df if e and e.estimate else 0, p_explore=p_explore,
        p_permutation=e and e.p_permutation, p_same=_try_same(draft),
        notes=verdict.notes, counted=draft.noun, where=draft.where, interval_covers=e.covers if e else "drives",
        tries_needed=verdict.need and verdict.need.tries,
    )  # fmt: skip


def _try_same(draft: Draft) -> float | None:
    if draft.margin is None or draft.evidence is None or draft.evidence.estimate is None:
        return None
    found = try_equivalence(draft.evidence.estimate, draft.margin)
    return found and found.p


def _advise(rows: Sequence[Row], before: Sequence[DriveResult]) -> tuple[str, ...]:
    """What would make the answer stronger."""
    said = []
    if any(row.measure in BY_HAND and row.verdict == "better" for row in rows):
        who = "another driver, or one who is not told" if len(before) > 1 else "one who is not told"
        said.append(f"whoever drives knows which drive is after: a blind order or {who} makes times count for more")
    if any(row.provisional and row.group == ALL for row in rows):
        said.append("three drives a side, or repeat drives of this car with nothing changed, make a verdict firm")
    told = {row.measure for row in rows} | {*ONLY_IF_SEEN}
    lacks = [MEASURES[key].label.lower() for key in CAR_FIRST if key not in told]
    if lacks:
        said.append(
            f"not measured in any of these drives: {', '.join(lacks)}; what each log is worth (shiftlog check) says why"
        )
    return tuple(said)
