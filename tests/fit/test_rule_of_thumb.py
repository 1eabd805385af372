"""The rule of thumb: found where simulated, not found where absent, refused without monitors."""

import numpy as np
import pandas as pd
import pytest

from analysis.fit.estimate import Series
from analysis.fit.rule_of_thumb import contrast_days, flipped_p, rule_of_thumb
from tests.fit.make_series import series
from tests.fit.simulate import simulate

LAND = "sunrise over afternoon on land paths"
SEA = "afternoon over sunrise on sea paths"


def test_supported_where_the_cycle_is():
    """Land and sea as simulated: both contrasts supported, ratios above one, land peak at sunrise."""
    found = rule_of_thumb([series("land2"), series("sea2")])
    assert set(found) == {LAND, SEA, "land and sea differ", "land peak at sunrise"}
    assert {estimate.verdict for estimate in found.values()} == {"supported"}
    assert found[LAND].low > 1
    assert found[SEA].low > 1


def test_contradicted_where_it_runs_the_other_way():
    """Sea cells that call themselves land turn the verdict round."""
    sea = series("sea2")
    other = Series("2m", "TR", "land", "sun", "A", sea.cells)
    assert rule_of_thumb([other])[LAND].verdict == "contradicted"


def test_no_cycle_is_not_supported():
    """Twelve single seasons without a daily cycle: at most one is called supported, none loudly wrong."""
    verdicts = []
    for seed in range(12):
        cells = simulate("land2", seasons=1, seed=700 + seed, swing=0.0).cells
        verdicts.append(
            rule_of_thumb([Series("2m", "TR", "land", "sun", "A", cells)], flips=499)[LAND].verdict
        )
    assert verdicts.count("supported") <= 1
    assert verdicts.count("contradicted") <= 1
    assert set(verdicts) & {"cannot tell", "not supported"}


@pytest.mark.parametrize(("tier", "said"), [("B", "receivers that always run"), ("C", "contacts alone")])
def test_refused_without_monitors(tier, said):
    """The test is fooled by who happened to listen, so it is not made."""
    found = rule_of_thumb([Series("2m", "TR", "land", "sun", tier, series("land2").cells)])
    assert found[LAND].verdict == "refuse"
    assert np.isnan(found[LAND].value)
    assert said in found[LAND].reason


def test_sign_flips_by_hand():
    """Two blocks of +1 and +2: of the four sign patterns one has so large a sum, all have one as small."""
    large, small = flipped_p(np.array([1.0, 2.0]), np.array([0, 1]), flips=4000, seed=1)
    assert large == pytest.approx(0.25, abs=0.03)
    assert small == 1


@pytest.mark.parametrize("lon", [0, 90, 178, -120])
def test_days_pair_sunrise_and_afternoon_at_any_longitude(lon):
    """Sunrise and afternoon may fall on two UTC days; pairs are made within one local day."""
    local = pd.date_range("2024-06-01", periods=48 * 30, freq="30min", tz="UTC")
    hour = np.tile(np.arange(48) / 2 + 0.25, 30)
    day = np.repeat(np.arange(30), 48)
    cells = pd.DataFrame({"start": local - pd.Timedelta(hours=lon / 15), "season": 2024, "hour": hour})
    cells["n_listening"] = 3
    cells["n_detected"] = ((day % 2 == 0) & (hour < 12)).astype(int)
    pairs = contrast_days(cells)
    assert len(pairs) == 30
    assert pairs["sunrise"].tolist() == [1.0, 0.0] * 15
    assert (pairs["afternoon"] == 0).all()
