"""What counts as found, as misplaced and as invented."""

from types import SimpleNamespace

from tests.truth.phone_study import PhoneTally
from tests.truth.phone_truth import Event


def _event(open_s: float, kind: str = "drive") -> Event:
    return Event(open_s=open_s, start_s=open_s + 0.2, end_s=open_s + 2.0, kind=kind, gap=None)


def _claim(start_s: float, end_s: float):
    return SimpleNamespace(start_s=start_s, end_s=end_s, confidence=0.8, gap=None)


def _count(events, claims) -> tuple[int, int, int]:
    tally = PhoneTally()
    tally.add(SimpleNamespace(events=tuple(events), minutes=1.0), tuple(claims))
    return tally.found.get("drive", 0), tally.misplaced, tally.invented - tally.misplaced


def test_a_claim_at_the_start_is_found_one_within_is_misplaced_and_one_elsewhere_invented() -> None:
    events = [_event(10.0), _event(20.0), _event(40.0)]
    assert _count(events, [_claim(10.1, 12.0), _claim(21.5, 22.2), _claim(30.0, 31.0)]) == (1, 1, 1)


def test_a_second_claim_of_one_change_is_invented() -> None:
    assert _count([_event(10.0)], [_claim(10.1, 11.0), _claim(11.3, 12.2)]) == (1, 0, 1)
    assert _count([_event(10.0)], [_claim(11.0, 11.4), _claim(11.6, 12.2)]) == (0, 1, 1)


def test_a_drive_without_changes_has_none_misplaced() -> None:
    assert _count([], [_claim(1.0, 2.0)]) == (0, 0, 1)
