"""Binary logs of a recorder that began more than once: no start loses a frame, and copies are told from starts."""

import random
from pathlib import Path

import numpy as np
import pytest

from tests.ingest.frame_tables import assert_written, recorder, table_of
from tests.ingest.frame_writer import FrameWriter


def test_a_second_session_is_a_start_of_its_own(tmp_path: Path) -> None:
    first, second = recorder(session=7), recorder(session=8, start_us=90_000_000)
    table = table_of(first.data + second.data, tmp_path)
    assert table.starts == (320,)
    assert table.mended == {}
    assert_written(table, first, second)


@pytest.mark.parametrize("session", [0, 7], ids=["no session", "one session drawn twice"])
@pytest.mark.parametrize("alike", [0, 1, 7])
def test_a_start_that_repeats_the_first_frames_loses_none(alike: int, session: int, tmp_path: Path) -> None:
    first, second = FrameWriter(session=session), FrameWriter(session=session)
    for writer, seed in ((first, 1), (second, 2)):
        at = 5_000_000
        for number in range(40):
            if number % 10 == 0:
                writer.header(at)
            chance = random.Random(number if number < alike else 1000 * seed + number)
            writer.even(at, 4000, [(chance.randint(-2000, 2000), chance.randint(-9, 9)) for _ in range(8)])
            at += 32_000
    assert first.frames[1 : 2 + alike] == second.frames[1 : 2 + alike]
    table = table_of(first.data + second.data, tmp_path)
    assert (table.starts, table.mended) == ((320,), {})
    assert table.time_s == pytest.approx(np.array([t for t, _ in (*first.samples, *second.samples)]) * 1e-6)
    assert_written(table, first, second)


def test_a_session_drawn_twice_is_two_starts_though_the_second_began_later(tmp_path: Path) -> None:
    first, second = recorder(session=7), recorder(session=7, start_us=5_450_000)
    table = table_of(first.data + second.data, tmp_path)
    assert table.mended == {} and table.time_s.size == 640
    assert np.flatnonzero(np.diff(table.time_s) < -0.1).tolist() == [319]


@pytest.mark.parametrize("twice", [slice(5, 6), slice(1, 12), slice(20, 38)])
def test_frames_written_twice_without_a_session_are_copies(twice: slice, tmp_path: Path) -> None:
    writer = recorder(session=0)
    frames = writer.frames[: twice.stop] + writer.frames[twice] + writer.frames[twice.stop :]
    table = table_of(b"".join(frames), tmp_path)
    assert (table.starts, table.mended) == ((), {"repeated frames": twice.stop - twice.start})
    assert table.time_s.size == 320
    # Also where the first writing of one of them was spoilt.
    del frames[twice.stop - 1]
    assert table_of(b"".join(frames), tmp_path).starts == ()
