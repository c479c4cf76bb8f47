"""The part for the engineer: method, settings, version, every row, and the fingerprint of every log."""

import json
from collections.abc import Sequence
from itertools import groupby

from shiftlog.model.comparison import Row
from shiftlog.model.told import Told
from shiftlog.report.answer import capital
from shiftlog.report.content import ALL, FIRM, Content, DriveUsed
from shiftlog.report.kind_words import kind_name
from shiftlog.report.language import Language
from shiftlog.report.markup import Html, tag
from shiftlog.report.masking import Mask
from shiftlog.report.parts import bullets, table
from shiftlog.report.row_words import amount, is_share, level, measure_name

LEAST_P = 0.001
"""A smaller p says no more than that it is smaller."""


def engineer_part(content: Content, words: Language, mask: Mask) -> Html:
    """Everything that it takes to take the page apart."""
    parts = [tag("p", words.say("engineer.verify")), tag("p", words.say("engineer.counting"))]
    comparison = content.comparison
    if comparison is not None and comparison.rows:
        parts += [tag("h3", words.say("engineer.method"))]
        parts += [bullets(list(dict.fromkeys(capital(words.tell(r.method)) for r in comparison.rows)))]
        parts += _notes(content, words, mask)
        parts += [tag("h3", words.say("engineer.rows")), _rows(comparison.rows, words)]
        few = sum(r.verdict == "too_few" and r.group != ALL for r in comparison.rows)
        parts += [tag("p", words.say("engineer.few", n=few), class_="soft")] if few else []
        starred = any(r.provisional and r.verdict in FIRM for r in comparison.rows)
        parts += [tag("p", words.say("engineer.star"), class_="soft")] if starred else []
        parts += _left_out(comparison.rows, words, mask)
    later = content.later.comparison if content.later else None
    if later is not None and later.rows:
        parts += [
            tag("h3", words.say("section.recheck")),
            tag("p", words.say("engineer.recheck")),
            _rows(later.rows, words),
        ]
    parts += _missing(content, words, mask)
    parts += [tag("h3", words.say("engineer.drives")), _drives(content, words, mask)]
    parts += [tag("h3", words.say("engineer.settings")), *_settings([d for _, d in content.all_drives], mask)]
    folded = tag("details", tag("summary", tag("h2", words.say("section.engineer"))), parts)
    return tag("section", folded, class_="engineer")


def _notes(content: Content, words: Language, mask: Mask) -> list[Html]:
    caveats = [mask.text(capital(words.tell(text))) for text in content.comparison.caveats]
    return [tag("h3", words.say("engineer.notes")), bullets(caveats)] if caveats else []


def _rows(rows: Sequence[Row], words: Language) -> Html:
    keys = (
        "engineer.kind", "engineer.n", "table.before", "table.after", "table.difference", "engineer.p",
        "engineer.p_corrected", "engineer.delta", "engineer.smallest", "table.says",
    )  # fmt: skip
    shown = [r for r in rows if r.verdict != "too_few" or r.group == ALL]
    body = []
    for measure, some in groupby(shown, key=lambda r: r.measure):
        name = tag("th", measure_name(measure, words), colspan=len(keys), scope="rowgroup")
        body.append(tag("tr", name, class_="group"))
        body += [tag("tr", [tag("td", cell) for cell in _row(r, words)]) for r in some]
    head = tag("thead", tag("tr", [tag("th", words.say(key), scope="col") for key in keys]))
    return tag("div", tag("table", head, tag("tbody", body), class_="wide"), class_="scroll")


def _row(row: Row, words: Language) -> list[object]:
    n = f"{row.n_before} ({row.drives_before}), {row.n_after} ({row.drives_after})"
    return [
        kind_name(row, words), n, level(row, row.before, words), level(row, row.after, words), _interval(row, words),
        _p(row.p, words), _p(row.p_corrected, words), _bare(row.cliffs_delta, words),
        "–" if row.smallest_change is None else amount(row, row.smallest_change, words),
        words.say(f"short.{row.verdict}") + ("*" if row.provisional and row.verdict in FIRM else ""),
    ]  # fmt: skip


def _p(value: float | None, words: Language) -> str:
    if value is not None and value < LEAST_P:
        return f"< {words.number(LEAST_P)}"
    return _bare(value, words)


def _bare(value: float | None, words: Language) -> str:
    return "–" if value is None else words.number(value)


def _interval(row: Row, words: Language) -> str:
    if row.difference is None or row.ci_low is None or row.ci_high is None:
        return "–"
    low, high = (amount(row, v, words, bare=True) for v in (row.ci_low, row.ci_high))
    value = amount(row, row.difference, words, bare=is_share(row))
    return words.say("number.interval", value=value, low=low, high=high)


def _left_out(rows: Sequence[Row], words: Language, mask: Mask) -> list[Html]:
    some = [(measure_name(r.measure, words), r.left_out) for r in rows if r.group == ALL]
    lines = [
        mask.text(f"{capital(name)}: {left.before}, {left.after} ({'; '.join(_counted(left.why, words))})")
        for name, left in some
        if left.before + left.after
    ]
    return [tag("h3", words.say("engineer.left_out")), bullets(lines)] if lines else []


def _counted(whys: Sequence[str], words: Language) -> list[str]:
    """Reasons that read alike in the page's language, counted together."""
    counts: dict[str, int] = {}
    for why in whys:
        said, n = (words.tell(why.values["why"]), why.values["n"]) if is_counted(why) else (words.tell(why), 1)
        counts[said] = counts.get(said, 0) + n
    return [words.say("left.counted", n=n, why=said) for said, n in counts.items()]


def is_counted(why: str) -> bool:
    """Whether a reason comes with how many it is of."""
    return isinstance(why, Told) and {"n", "why"} <= why.values.keys()


def _missing(content: Content, words: Language, mask: Mask) -> list[Html]:
    """Why a figure was never measured."""
    lines = [
        mask.text(f"{capital(measure_name(gap.measure, words))}: {words.tell(gap.why)}")
        for gap in content.missing
        if gap.why
    ]
    return [tag("h3", words.say("section.not_measured")), bullets(lines)] if lines else []


def _drives(content: Content, words: Language, mask: Mask) -> Html:
    heads = [words.say(f"engineer.{key}") for key in ("drive", "side", "started", "version", "file", "sha")]
    rows = [
        [
            mask.text(drive.result.head.id), words.say(f"side.{side}"), _day(drive, words), drive.result.version,
            mask.text(log.file), tag("span", log.sha256, class_="sha"),
        ]
        for side, drive in content.all_drives
        for log in drive.result.inputs
    ]  # fmt: skip
    return table(heads, rows)


def _day(drive: DriveUsed, words: Language) -> str:
    started = drive.result.head.started
    return words.day(str(started)) if started else "–"


def _settings(drives: Sequence[DriveUsed], mask: Mask) -> list[Html]:
    """Each set of settings once, with the drives it is of where there are several."""
    sets: dict[str, list[str]] = {}
    for drive in drives:
        told = " · ".join(f"{key} {json.dumps(value)}" for key, value in drive.result.settings.items())
        sets.setdefault(told or "–", []).append(mask.text(drive.result.head.id))
    many = len(sets) > 1
    return [tag("p", tag("code", f"{', '.join(names)}: {told}" if many else told)) for told, names in sets.items()]
