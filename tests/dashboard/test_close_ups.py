"""Close-up pictures of a shift: the right place in time and frequency, closed forms, reasons where there is none."""

import json
from dataclasses import replace

import numpy as np
import pytest

from dashboard.app import page
from dashboard.close_ups import (
    Shock,
    Spectrogram,
    SwingPicture,
    Track,
    find_track,
    hardest_axis,
    picture_swing,
    power_levels,
    read_shock,
    read_spectrogram,
)
from dashboard.figures.shock import draw_shock
from dashboard.figures.spectrogram import draw_spectrogram, track_words
from dashboard.figures.swing import draw_swing, swing_words
from dashboard.parts.drive_list import drive_place
from dashboard.parts.shift_figures import figures_section, grouped_keys
from dashboard.parts.shift_pictures import picture_sections
from dashboard.routes import Place, Query
from dashboard.theme import DARK, LIGHT
from shiftlog.measure.catalogue import shift_keys
from shiftlog.measure.clash import ClashRange
from shiftlog.measure.scene import Scene
from shiftlog.measure.shuffle import Swing
from shiftlog.model.drive import Signals
from shiftlog.model.reading import measured, unmeasured
from shiftlog.model.settings import Settings
from shiftlog.model.trace import Trace
from shiftlog.signal.damped_sine import DampedSine

RATE_HZ = 1600.0


def text_of(component) -> str:
    return json.dumps(component, default=lambda thing: thing.to_plotly_json(), ensure_ascii=False)


def trace(values: np.ndarray, *, start_s: float = 40.0, rate_hz: float = RATE_HZ, place: str = "gearbox") -> Trace:
    time_s = start_s + np.arange(len(values)) / rate_hz
    return Trace(
        time_s=time_s, values=values, spans=((float(time_s[0]), float(time_s[-1])),), rate_hz=rate_hz,
        recording=place, place=place,
    )  # fmt: skip


@pytest.fixture
def make_scene(car):
    """A scene with nothing but an accelerometer at the gearbox."""

    def make(accel: Trace | None) -> Scene:
        signals = Signals(accel={} if accel is None else {"gearbox": accel})
        return Scene(signals=signals, car=car, path=None, settings=Settings())

    return make


def burst(*, at_s: float, lasts_s: float, tone_hz: float) -> Trace:
    """Four seconds from 40 s on with a tone on one axis, in a little noise."""
    t = np.arange(6400) / RATE_HZ
    values = np.random.default_rng(3).normal(0, 0.02, (6400, 3))
    values[:, 1] += np.where(np.abs(t + 40 - at_s) < lasts_s / 2, np.sin(2 * np.pi * tone_hz * t), 0.0)
    return trace(values)


def heard(**different) -> Spectrogram:
    plain = {
        "time_s": np.linspace(41.1, 42.1, 200), "frequency_hz": np.linspace(62.5, 640.0, 19),
        "level_db": np.zeros((19, 200)), "place": "gearbox", "top_hz": 640.0,
        "track": Track(span_s=(41.7, 41.79), from_hz=324.0, to_hz=331.0),
    }  # fmt: skip
    return Spectrogram(**(plain | different))


def test_a_tone_holds_its_power_at_its_frequency():
    t = np.arange(3200) / RATE_HZ
    frequency_hz, time_s, level_db = power_levels(2 * np.sin(2 * np.pi * 300 * t)[:, None], RATE_HZ, top_hz=640.0)
    power = 10 ** (level_db / 10)
    # Mean square of a sine of 2 m/s² is 2; the density summed over its bins times their distance gives it back.
    assert np.allclose(power.sum(axis=0) * (frequency_hz[1] - frequency_hz[0]), 2.0, rtol=0.02)
    assert np.all(np.abs(frequency_hz[level_db.argmax(axis=0)] - 300) <= RATE_HZ / 51)
    assert time_s[0] >= 0 and time_s[-1] <= t[-1] and frequency_hz[-1] <= 640.0


def test_a_burst_stands_where_and_when_it_was(make_scene, make_shift):
    found = read_spectrogram(make_scene(burst(at_s=41.7, lasts_s=0.06, tone_hz=400.0)), make_shift())
    row, column = np.unravel_index(found.level_db.argmax(), found.level_db.shape)
    assert found.time_s[column] == pytest.approx(41.7, abs=0.03)
    assert found.frequency_hz[row] == pytest.approx(400.0, abs=32.0)
    # From 0.3 s before the start to 0.3 s after the end, half a window less on either side.
    assert found.time_s[0] == pytest.approx(41.12, abs=0.03) and found.time_s[-1] == pytest.approx(42.10, abs=0.03)
    assert found.track is None and "lever" in found.why


def test_without_data_there_is_a_reason(make_scene, make_shift):
    assert read_spectrogram(make_scene(None), make_shift()) == "no accelerometer at the gearbox or the lever"
    far = make_shift(start_s=90.0, out_s=90.1, in_s=90.2, end_s=90.3)
    here = make_scene(burst(at_s=41.7, lasts_s=0.06, tone_hz=400.0))
    assert read_spectrogram(here, far) == read_shock(here, far) == "gearbox has a gap here"
    assert read_shock(here, make_shift(end_s=None)) == "no gear went in"


def test_a_long_sine_shakes_an_oscillator_in_tune_ten_times_as_much():
    t = np.arange(12800) / 12800.0
    values = np.column_stack([0.1 * np.sin(2 * np.pi * 100 * t), np.sin(2 * np.pi * 100 * t), 0 * t])
    # In tune the steady answer is √(1 + Q²) times the input: absolute acceleration of a damped oscillator.
    assert hardest_axis(values, 12800.0, np.array([100.0]))[0] == pytest.approx(np.sqrt(101), rel=0.01)


def test_the_shock_of_a_blow_stands_above_what_was_before_it(make_scene, make_shift):
    shock = read_shock(make_scene(burst(at_s=41.82, lasts_s=0.03, tone_hz=200.0)), make_shift())
    assert np.all(shock.blow[shock.frequency_hz > 50] > shock.before[shock.frequency_hz > 50])
    assert shock.frequency_hz[shock.blow.argmax()] == pytest.approx(200.0, rel=0.1)
    assert shock.frequency_hz[0] == pytest.approx(20.0) and shock.frequency_hz[-1] == pytest.approx(640.0)


def test_the_envelope_runs_back_to_the_take_up_its_amplitude_is_told_for():
    since_s, damping, natural_hz = np.arange(100) / 50.0, 0.1, 4.0
    decay = damping * 2 * np.pi * natural_hz
    damped_hz = natural_hz * np.sqrt(1 - damping**2)
    # The swing began 0.06 s before the first point with an envelope of 1.5 m/s².
    swing = 1.5 * np.exp(-decay * (since_s + 0.06)) * np.sin(2 * np.pi * damped_hz * (since_s + 0.06))
    fit = DampedSine(
        frequency_hz=natural_hz, damping=damping, amplitude=1.5, covariance=np.eye(3),
        swing=swing, trend=np.full(100, 0.3),
    )  # fmt: skip
    found = Swing(at_s=55.0 + since_s, fit=fit, values=swing + 0.3, start_u_s=0.01)
    body = trace(np.zeros((400, 3)), start_s=53.0, rate_hz=100.0, place="body")
    picture = picture_swing(found, body)
    assert picture.envelope_s[0] == pytest.approx(54.94, abs=1e-6) and picture.envelope[0] == pytest.approx(1.5)
    height = np.interp(picture.time_s, picture.envelope_s, picture.envelope)
    assert np.all(np.abs(picture.fitted - picture.trend) <= height + 1e-9)


@pytest.mark.parametrize(("to_hz", "shown_to_hz"), [(500.0, 640.0), (900.0, 954.0), (3000.0, 1280.0)])
def test_the_predicted_line_stays_in_the_picture_unless_it_lies_far_above(make_shift, to_hz, shown_to_hz):
    spectrogram = heard(track=Track(span_s=(41.7, 41.8), from_hz=0.9 * to_hz, to_hz=to_hz))
    figure = draw_spectrogram(spectrogram, make_shift(), LIGHT)
    assert figure.layout.yaxis.range[1] == pytest.approx(shown_to_hz)
    limits = [note for note in figure.layout.annotations if note.text == "not heard above"]
    assert len(limits) == (to_hz > 640.0)
    assert ("above the picture" in track_words(spectrogram)) == (0.9 * to_hz > 1280.0)


def test_the_highest_tone_counts_what_coasting_adds_by_then(make_scene, make_shift, monkeypatch):
    monkeypatch.setattr("dashboard.close_ups.find_engaging", lambda *_, **__: (41.7, 41.79))
    allowed = ClashRange(from_hz=300.0, coasts_hz=25.0)
    monkeypatch.setattr("dashboard.close_ups.find_clash_range", lambda *_: allowed)
    accel = burst(at_s=41.7, lasts_s=0.06, tone_hz=400.0)
    found, shift = find_track(make_scene(accel), make_shift(), accel), make_shift()
    lasts_s = shift.end_s - shift.start_s
    # The shaft has coasted in proportion to the time since the clutch let go of it, as the lever left the old gear.
    assert found.from_hz == pytest.approx(300.0 + 25.0 * (41.7 - shift.start_s) / lasts_s)
    assert found.to_hz == pytest.approx(300.0 + 25.0 * (41.79 - shift.start_s) / lasts_s)
    assert 300.0 < found.from_hz < found.to_hz <= 325.0


def test_the_spectrogram_holds_the_phases_and_the_clash_tone(make_shift):
    figure = draw_spectrogram(heard(), make_shift(), LIGHT)
    assert {"start", "out", "in", "end"} <= {note.text for note in figure.layout.annotations}
    highest = next(trace for trace in figure.data if trace.name == "clash, highest tone")
    falling = next(trace for trace in figure.data if trace.name == "clash, falling")
    assert list(highest.y) == [324.0, 331.0] and list(falling.y) == [324.0, 0.0]
    assert list(highest.x) == [41.7, 41.79] and highest.line.dash != falling.line.dash
    assert draw_spectrogram(heard(), make_shift(), DARK).data[0].colorscale[0][1] == DARK.card


def test_without_a_track_the_sound_is_drawn_all_the_same_and_the_reason_said(make_shift):
    alone = heard(track=None, why="engine speed was not logged")
    assert len(draw_spectrogram(alone, make_shift(), LIGHT).data) == 1
    assert track_words(alone) == "No clash tone is drawn: engine speed was not logged."


def test_a_tone_above_the_recorder_s_band_is_said_not_to_be_excluded():
    assert "not excluded" not in track_words(heard())
    high = track_words(heard(track=Track(span_s=(41.7, 41.8), from_hz=900.0, to_hz=900.0)))
    assert "900\N{NO-BREAK SPACE}Hz at the most" in high and "640\N{NO-BREAK SPACE}Hz only" in high


def test_the_shock_is_drawn_log_over_log_with_plain_ticks():
    frequency_hz = np.geomspace(20, 640, 20)
    shock = Shock(frequency_hz=frequency_hz, blow=frequency_hz / 10, before=np.zeros(20), place="gearbox")
    figure = draw_shock(shock, LIGHT)
    assert figure.layout.xaxis.type == figure.layout.yaxis.type == "log"
    assert list(figure.layout.xaxis.ticktext) == ["20", "50", "100", "200", "500"]
    assert {trace.name for trace in figure.data} == {"the blow", "just before"}


def test_measured_fitted_and_envelope_are_told_apart_by_more_than_colour():
    t = np.linspace(55, 57, 100)
    picture = SwingPicture(
        time_s=t, values=np.sin(t), fitted=np.sin(t), trend=0 * t, envelope_s=t, envelope=0 * t + 1,
        logged_s=t, logged=np.sin(t),
    )  # fmt: skip
    looks = {trace.name: (trace.mode, trace.line.dash, trace.line.width) for trace in draw_swing(picture, LIGHT).data}
    assert looks["measured"][0] == "markers" and looks["envelope"][1] == "dash" and looks["fitted"][2] == 2.5


def test_the_swing_is_told_in_words_with_its_uncertainties(make_shift):
    readings = {
        "shuffle_hz": measured("shuffle_hz", 4.84, uncertainty=0.066),
        "shuffle_damping": measured("shuffle_damping", 0.153, uncertainty=0.014),
        "shuffle_amplitude_mps2": measured("shuffle_amplitude_mps2", 1.11, uncertainty=0.16),
    }
    said = swing_words(make_shift(readings=readings)).replace("\N{NO-BREAK SPACE}", " ")
    assert "4.84 Hz ± 0.066 Hz" in said and "0.153 ± 0.014" in said and "1.11 m/s² ± 0.16 m/s²" in said


def test_a_picture_without_its_figure_is_a_reason_in_its_place(make_shift):
    readings = {
        "grind": unmeasured("grind", "no accelerometer at the gearbox"),
        "grind_level_db": unmeasured("grind_level_db", "no accelerometer at the gearbox"),
        "knock_peak_mps2": unmeasured("knock_peak_mps2", "no accelerometer at the gearbox"),
        "shuffle_hz": measured("shuffle_hz", 4.0),
    }
    said = text_of(picture_sections(make_shift(readings=readings)))
    assert "shift-swing" in said and "shift-sound" not in said and "shift-shock" not in said
    assert said.count("No accelerometer at the gearbox.") == 2 and "measure it again" not in said
    assert "shorter pulses with higher jerk" in said and "no score" in said


def test_a_grind_that_stays_open_is_shown_with_its_reason(make_shift):
    readings = {key: unmeasured(key, "nothing was heard") for key in ("grind", "grind_level_db", "shuffle_hz")}
    said = text_of(
        picture_sections(make_shift(readings=readings | {"knock_peak_mps2": measured("knock_peak_mps2", 5)}))
    )
    assert "shift-sound" in said and "shift-swing" not in said and said.count("Nothing was heard.") == 2


def test_every_figure_of_the_catalogue_has_one_group():
    grouped = [key for keys in grouped_keys().values() for key in keys]
    assert sorted(grouped) == sorted(set(shift_keys()))


def test_figures_stand_with_their_error_and_missing_ones_with_their_reason(make_shift):
    readings = {
        "shift_time_s": measured("shift_time_s", 0.38, uncertainty=0.004),
        "knock_peak_mps2": unmeasured("knock_peak_mps2", "no accelerometer"),
        "knock_energy_m2s3": unmeasured("knock_energy_m2s3", "no accelerometer"),
    }
    readings["speed_difference_rpm"] = replace(measured("speed_difference_rpm", 700.0), side="hub")
    said = text_of(figures_section(make_shift(readings=readings), Query())).replace("\N{NO-BREAK SPACE}", " ")
    assert ", at the hub" in said
    assert "± 0.0040 s; 95 %: 0.372 to 0.388 s" in said
    assert said.count("no accelerometer") == 1 and "Knock energy" in said and "Driveline" not in said


def test_pictures_of_a_measured_drive_are_read_once_and_forgotten_when_it_is_measured_anew(measured_workshop):
    library, drive_ids = measured_workshop
    drive_id = drive_ids["before"]
    shift = next(s for s in library.result(drive_id).shifts if s.value("knock_peak_mps2") is not None)
    assert isinstance(library.spectrogram(drive_id, shift), Spectrogram)
    assert library.shock(drive_id, shift) is library.shock(drive_id, shift)
    assert library.swing(drive_id, shift) == "no accelerometer at the body whose mounting is known"
    here = drive_place(library.entry(drive_id))
    place = Place(page="shift", car=here.car, visit=here.visit, drive=here.drive, shift=shift.number)
    said = text_of(page(place, Query(), library))
    assert "shift-shock" in said and "shift-swing" not in said
