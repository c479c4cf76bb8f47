"""`shiftlog neutral`: the rests of one car's drives, for people and as JSON."""

import json

from .conftest import CAR


def test_it_says_where_the_lever_rests_and_what_a_push_would_mean(call, full_drive):
    said = call("neutral", full_drive, "--at", "100")
    assert said.returncode == 0, said.stderr
    assert "let go, the lever lay" in said.stdout and "over-revs above" in said.stdout
    assert "100 km/h" in said.stdout and "Never try it out" in said.stdout


def test_its_document_holds_groups_reach_and_cautions(call, full_drive):
    said = call("neutral", full_drive, "--at", "36", "--json", "-")
    assert said.returncode == 0, said.stderr
    document = json.loads(said.stdout)
    assert document["format"] == 1 and document["home"] and document["cautions"]
    assert all(len(group["interval95"]) <= 5 and group["moving"] for group in document["groups"])
    for reach in document["reach"]:
        [at] = reach["at"]
        assert at["vehicle_speed_mps"] == 10.0 and at["rpm"] == 10.0 * reach["rpm_per_mps"]


def test_drives_of_different_cars_are_refused(call, make_drive):
    other = make_drive("other", car=CAR.replace("Test car", "Another car"))
    said = call("neutral", make_drive("one"), other)
    assert said.returncode == 2 and "different cars" in said.stderr and said.stderr.count("\n") == 1


def test_a_speed_that_is_none_is_one_line(run, full_drive):
    said = run("neutral", full_drive, "--at", "fast")
    assert said.returncode == 2 and "'fast'" in said.stderr and said.stderr.count("\n") == 1
