"""The reference encoder of ``firmware_notes/``, compiled on this machine: what it writes is read back."""

import os
import shutil
import subprocess
from pathlib import Path

import numpy as np
import pytest

from shiftlog.ingest.formats.frame_records import parse_frames
from shiftlog.ingest.formats.frames import FrameTable, read_frames
from tests.ingest.frame_writer import FrameWriter

NOTES = Path(__file__).resolve().parents[2] / "firmware_notes"
STRICT = ["-std=c99", "-Wall", "-Wextra", "-Werror", "-pedantic"]

DRIVER = r"""
#include <stdio.h>
#include "frame_encoder.h"

static void to_stdout(void *context, const uint8_t *bytes, size_t count)
{
    *(unsigned long *)context += (unsigned long)count;
    fwrite(bytes, 1, count, stdout);
}

/* Commands on standard input, one a line: s COUNTER a b | e COUNTER STEP a b | m COUNTER CODE | f */
int main(int argc, char **argv)
{
    static const frames_channel channels[] = {
        {"select", "count", 0, 1, 0, 0, 0},
        {"accel_x", "mg", FRAMES_HAS_MISSING, 61, -3, 0, 0},
        {"gearbox_temp", "degC", 0, 390625, -8, 25, 0},
        {"engage", "count", FRAMES_UNSIGNED, 1, 0, 0, 0},
        {"gyro_x", "deg/s", 0, 875, -5, 0, 0}, {"gyro_y", "deg/s", 0, 875, -5, 0, 0},
        {"gyro_z", "deg/s", 0, 875, -5, 0, 0}, {"accel_y", "mg", 0, 61, -3, 0, 0},
        {"accel_z", "mg", 0, 61, -3, 0, 0}, {"lever_force", "N", 0, 1, -2, 0, 0},
        {"clutch", "1", 0, 1, 0, 0, 0}, {"ambient", "degC", 0, 1, -2, 0, 0}};
    static frames_encoder encoder;
    frames_description description = {"left tower", "tower", "box", 513, 1600000, 500000, channels, 0};
    unsigned long written = 0, counter, step;
    int16_t counts[16] = {0};
    int a, b, kind;
    description.channel_count = (uint8_t)(argc > 1 ? argv[1][0] - 'a' : 2);
    if (scanf("%lu", &counter) != 1 || frames_start(&encoder, &description, (uint32_t)counter, to_stdout, &written))
        return 3;
    while ((kind = getchar()) != EOF) {
        if (kind == 's' && scanf("%lu %d %d", &counter, &a, &b) == 3) {
            counts[0] = (int16_t)a;
            counts[1] = (int16_t)b;
            frames_sample(&encoder, (uint32_t)counter, counts);
        } else if (kind == 'e' && scanf("%lu %lu %d %d", &counter, &step, &a, &b) == 4) {
            counts[0] = (int16_t)a;
            counts[1] = (int16_t)b;
            frames_even_sample(&encoder, (uint32_t)counter, (uint32_t)step, counts);
        } else if (kind == 'm' && scanf("%lu %d", &counter, &a) == 2) {
            frames_marker(&encoder, (uint32_t)counter, (uint8_t)a);
        } else if (kind == 'f') {
            frames_flush(&encoder);
        }
    }
    frames_flush(&encoder);
    fprintf(stderr, "%lu %lu\n", written, (unsigned long)sizeof encoder);
    return 0;
}
"""


@pytest.fixture(scope="session")
def encoder(tmp_path_factory) -> Path:
    """The encoder and a driver that feeds it from standard input, compiled with every warning an error."""
    compiler = shutil.which("cc") or shutil.which("gcc") or shutil.which("clang")
    if compiler is None:
        if os.environ.get("CI"):
            pytest.fail("there is no C compiler; under CI the reference encoder must be compiled")
        pytest.skip("there is no C compiler on this machine; install one (Debian: gcc) to test the reference encoder")
    folder = tmp_path_factory.mktemp("encoder")
    (folder / "driver.c").write_text(DRIVER)
    sources = [str(folder / "driver.c"), str(NOTES / "frame_encoder.c")]
    said = subprocess.run(
        [compiler, *STRICT, "-I", str(NOTES), *sources, "-o", str(folder / "driver")], capture_output=True, text=True
    )
    assert said.returncode == 0, said.stderr
    return folder / "driver"


@pytest.fixture
def write(encoder: Path, tmp_path: Path):
    """Runs the encoder on commands and gives the path of what it wrote."""

    def run(start_us: int, commands: list[str], *, channels: int = 2) -> Path:
        said = subprocess.run(
            [encoder, chr(ord("a") + channels)], input="\n".join([str(start_us), *commands]).encode(),
            capture_output=True, timeout=60,
        )  # fmt: skip
        assert said.returncode == 0
        written, memory = map(int, said.stderr.split())
        assert (written, memory < 400) == (len(said.stdout), True)
        (tmp_path / "tower.frames").write_bytes(said.stdout)
        return tmp_path / "tower.frames"

    return run


def read(path: Path) -> FrameTable:
    return read_frames(path, file=path.name)


def samples(count: int, start_us: int, seed: int) -> tuple[np.ndarray, np.ndarray]:
    """Counters with jitter [us], not yet wrapped, and counts of two channels, many of them zero."""
    chance = np.random.default_rng(seed)
    time = start_us + np.cumsum(chance.integers(600, 900, count))
    counts = chance.integers(-32767, 32768, (count, 2)) * chance.integers(0, 2, (count, 2))
    return time, counts


@pytest.mark.parametrize("start_us", [0, 123_456, (1 << 32) - 700_000])
def test_stamped_samples_come_back_with_their_times(write, start_us: int) -> None:
    time, counts = samples(3000, start_us, 1)
    table = read(write(start_us, [f"s {t & 0xFFFFFFFF} {a} {b}" for t, (a, b) in zip(time, counts, strict=True)]))
    assert table.mended == {}
    assert table.time_s == pytest.approx(time * 1e-6, abs=1e-9)
    assert table.values == pytest.approx(counts * [1, 0.061], rel=1e-12)
    header = table.header
    assert (header.device, header.place, header.clock, header.session) == ("left tower", "tower", "box", 513)
    assert header.rate_hz == 1600.0
    assert [c.name for c in header.channels] == ["select", "accel_x"]


def test_even_samples_come_back_a_step_apart(write) -> None:
    counts = samples(2000, 0, 2)[1]
    # A sensor of 1666 Hz: the step is no whole number of microseconds.
    time = np.arange(2000) * 600_240 / 1e3 + 50
    table = read(write(0, [f"e {int(t)} 600240 {a} {b}" for t, (a, b) in zip(time, counts, strict=True)]))
    assert table.mended == {}
    assert table.time_s == pytest.approx(time * 1e-6, abs=1e-6)
    assert table.values == pytest.approx(counts * [1, 0.061], rel=1e-12)


def test_a_hole_a_marker_and_a_change_of_kind_close_the_record(write) -> None:
    commands = ["e 1000 1000000 1 1", "e 2000 1000000 2 2", "e 90000 1000000 3 3", "m 90500 7", "e 91000 1000000 4 4",
                "s 92000 5 5", "s 92100 6 -32768", "f", "s 190000 7 7"]  # fmt: skip
    table = read(write(500, commands))
    assert table.time_s == pytest.approx([0.001, 0.002, 0.09, 0.091, 0.092, 0.0921, 0.19])
    assert table.values[:, 0].tolist() == [1, 2, 3, 4, 5, 6, 7]
    assert np.isnan(table.values[5, 1])
    assert table.marks.tolist() == [0, 0, 0, 7, 0, 0, 0]
    assert table.mended == {}


def test_frames_fit_one_block_and_the_header_is_repeated(write) -> None:
    time, counts = samples(4000, 0, 3)
    path = write(0, [f"s {t} {a} {b}" for t, (a, b) in zip(time, counts, strict=True)])
    blocks = [block for block in path.read_bytes().split(b"\0") if block]
    assert max(map(len, blocks)) <= 255
    kinds = [record.kind for record in parse_frames(path.read_bytes(), file="tower.frames").records]
    assert kinds.count(1) == 1 + int((time[-1] - 0) // 500_000)
    # From the middle of a frame on, the samples before the next header are read as well.
    whole, later = read(path), path.with_name("later.frames")
    later.write_bytes(path.read_bytes()[5000:])
    part = read(later)
    assert part.time_s[0] < 0.5 * whole.time_s[-1]
    assert set(np.round(part.time_s * 1e6)) <= set(time)


def test_a_header_longer_than_one_block(write) -> None:
    table = read(write(0, ["s 10 1 2", "s 1000 3 4"], channels=12))
    assert len(table.header.channels) == 12
    assert table.values[1, :4] == pytest.approx([3, 0.244, 25, 0])


def test_it_writes_what_the_specification_says(write) -> None:
    channels = (("select", "count", 0, 1, 0, 0, 0), ("accel_x", "mg", 2, 61, -3, 0, 0))
    by_hand = FrameWriter(
        device="left tower", place="tower", clock="box", session=513, rate_hz=1600.0, channels=channels
    )
    by_hand.header(77)
    by_hand.stamped([1000, 1400], [(1, 0), (-256, 513)])
    by_hand.even(9000, 625, [(0, 0), (255, 256)])
    by_hand.marker(9900, 9)
    path = write(77, ["s 1000 1 0", "s 1400 -256 513", "e 9000 625000 0 0", "e 9625 625000 255 256", "m 9900 9"])
    assert path.read_bytes() == by_hand.data


def test_a_description_that_does_not_fit_is_refused(encoder: Path) -> None:
    for channels in (0, 17):
        said = subprocess.run([encoder, chr(ord("a") + channels)], input=b"0", capture_output=True, timeout=60)
        assert (said.returncode, said.stdout) == (3, b"")
