"""Cold, hot and soaked on made roads: what changes is found, what does not is left alone."""

import pytest

from shiftlog.pipeline import load_drive, measure_drive

from .made_road import MadeRoad


def _told(made: MadeRoad, folder, **head):
    return measure_drive(load_drive(made.write(folder, head=head))).guided


def test_cones_that_are_slow_when_cold_are_found(tmp_path):
    made = MadeRoad(seed=1)
    made.warm_up("cold", longer=2.0)
    made.cruise(60.0)
    made.warm_up("hot")
    cold, hot = _told(made, tmp_path / "d")
    for kind in ("1-2", "3-2"):
        stands = [one.figure("stand_ms", f"{kind} {state}").value for one, state in ((cold, "cold"), (hot, "hot"))]
        assert stands[0] / stands[1] == pytest.approx(2.0, rel=0.3)
        assert hot.figure("stand_change_ms", kind).value == pytest.approx(stands[1] - stands[0], abs=0.1)
    assert any("oil" in why for _, why in hot.points_to)
    assert any("minutes since the log began" in words for words in hot.doubts)


def test_nothing_changes_where_nothing_does(tmp_path):
    made = MadeRoad(seed=2)
    made.warm_up("cold")
    made.warm_up("hot")
    _, hot = _told(made, tmp_path / "d")
    assert not hot.points_to
    assert all("no more than chance" in words for words in hot.says[:-1])


def test_a_probe_names_the_state_by_itself(tmp_path):
    made = MadeRoad(seed=3)
    made.warm_up("complete", each=5)
    made.temp = [(0.0, 15.0), (made.way.now_s, 22.0), (made.way.now_s + 1.0, 75.0), (3000.0, 85.0)]
    made.warm_up("complete", each=5, refuses=0.5)
    cold, hot = _told(made, tmp_path / "d")
    assert cold.says[-1].startswith("Driven cold") and hot.says[-1].startswith("Driven hot")
    assert cold.figure("warmth").unit == "°C" and 10 < cold.figure("warmth").value < 25
    assert hot.figure("hard", "1-2 hot").share.n == 5


def test_a_typed_temperature_is_named_as_such(tmp_path):
    made = MadeRoad(seed=4)
    made.warm_up("hot", each=4)
    (hot,) = _told(made, tmp_path / "d", gearbox_temp_c=78)
    assert hot.figure("warmth").value == 78 and any("typed" in words for words in hot.doubts)


def test_a_reading_typed_with_its_mark_goes_before_the_drive_s_which_no_other_state_has(tmp_path):
    made = MadeRoad(seed=4)
    for state in ("cold", "hot", "heat-soaked"):
        made.warm_up(state, each=4)
    folder = made.write(tmp_path / "d", head={"gearbox_temp_c": 12})
    file = folder / "drive.toml"
    text = file.read_text(encoding="utf-8").replace('"hot"', '"hot"\ngearbox_temp_c = 81')
    file.write_text(text, encoding="utf-8")
    cold, hot, soaked = (one.figure("warmth") for one in measure_drive(load_drive(folder)).guided)
    assert (cold.value, cold.unit, hot.value, hot.unit) == (12, "°C", 81, "°C")
    assert soaked.unit == "min" and "minutes since the log began" in soaked.label


def test_what_is_as_bad_hot_does_not_point_at_the_soak(tmp_path):
    made = MadeRoad(seed=1)
    for state, longer in (("cold", 1.0), ("hot", 2.0), ("heat-soaked", 2.0)):
        made.warm_up(state, longer=longer)
        made.cruise(60.0)
    _, hot, soaked = _told(made, tmp_path / "d")
    assert any("Worse hot" in why for _, why in hot.points_to)
    assert any("worse soaked" in says for says in soaked.says) and not soaked.points_to


def test_a_reading_of_the_mark_s_own_is_no_reading_of_the_whole_drive(tmp_path):
    made = MadeRoad(seed=4)
    made.warm_up("hot", each=4)
    file = made.write(tmp_path / "d") / "drive.toml"
    file.write_text(file.read_text(encoding="utf-8").replace('"hot"', '"hot"\ngearbox_temp_c = 81'), encoding="utf-8")
    (hot,) = measure_drive(load_drive(file.parent)).guided
    assert not any("whole drive" in words for words in hot.doubts)
