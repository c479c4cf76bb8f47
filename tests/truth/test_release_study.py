"""Release tests on levers, hands and sensors made apart from the synthesiser: the studies' short form."""

import numpy as np
import pytest

from tests.truth.landing_study import covers, measure_landings
from tests.truth.release_study import draw_made, study


@pytest.mark.parametrize(("seed", "manner"), [(5001, "creeping"), (5002, "offset"), (5003, "stuck")])
def test_every_let_go_counts_with_its_side_and_its_rest(tmp_path, seed, manner):
    told = study(draw_made(seed, manner), tmp_path)
    assert told["let_goes"] >= 20
    assert told["missed"] + told["too many"] <= 1
    assert told["wrong side"] == told["wrong plane"] == told["called held"] == 0
    assert told["rest off mm"] < 0.3
    assert told.get("hysteresis off mm", 0.0) < 0.5
    assert told.get("false swing", 0) == 0


def test_the_interval_holds_the_chance_that_landings_were_drawn_with(tmp_path):
    landings = measure_landings(1, tmp_path)
    assert all(told is not None and told == true for true, told in landings)
    rng = np.random.default_rng(11)
    assert np.mean([covers(rng, landings) for _ in range(400)]) >= 0.94
