"""Chances corrected by what left-out seasons showed: as far as they agree, and not at all where they are few."""

import numpy as np
import pandas as pd
import pytest
from scipy.special import expit, logit

from analysis.fit.ahead.calibration import UNCHECKED, calibration, recalibrated, skill
from analysis.fit.ahead.verify import back_test
from tests.fit.make_days import day_table


def forecasts(*, seasons=8, shift=0.0, slope=1.0, seed=1, windows=3000):
    """Forecasts that came true with these log odds against those stated."""
    rng = np.random.default_rng(seed)
    said = rng.uniform(0.02, 0.98, seasons * windows)
    happened = rng.random(len(said)) < expit(shift + slope * logit(said))
    season = np.repeat(np.arange(2000, 2000 + seasons), windows)
    table = pd.DataFrame({"season": season, "model": said, "happened": happened, "flat": happened.mean()})
    rest = {"season_day": 0, "length": 10, "at_least": 1, "calendar": 0.5}
    return table.assign(**rest, crps_model=1.0, crps_flat=1.0, crps_calendar=1.0)


def test_chances_stated_too_low_are_raised():
    """Windows that came true more often than said: 50 % is told as about 62 %, order stays, ends stay."""
    found = calibration(forecasts(shift=0.5))
    assert found.corrected(np.array([0.5]))[0] == pytest.approx(expit(0.5), abs=0.03)
    chance = found.corrected(np.array([0.0, 0.2, 0.8, 1.0]))
    assert (np.diff(chance) > 0).all()
    assert chance[[0, -1]].tolist() == [0, 1]
    assert "corrected for it" in found.words
    assert "8 left-out seasons" in found.words


def test_good_chances_stay():
    """Chances that came true as often as said are left as they are, and the words say that they were checked."""
    found = calibration(forecasts(windows=300))
    np.testing.assert_allclose(found.corrected(np.array([0.2, 0.5, 0.8])), [0.2, 0.5, 0.8], atol=0.03)
    assert found.words.startswith("checked on 8 left-out seasons")


def test_few_windows_hardly_move_it():
    """The same error in thirty windows a season moves a chance far less than in three thousand."""
    few, many = (calibration(forecasts(shift=0.5, windows=n)).shift for n in (30, 3000))
    assert 0 <= few < 0.6 * many


@pytest.mark.parametrize(
    "table", [forecasts(seasons=3, shift=1.0), forecasts().iloc[:0], forecasts(shift=99.0)]
)
def test_too_few_seasons_correct_nothing(table):
    """Three seasons, none, or windows that all came true: nothing is corrected, and that is said."""
    found = calibration(table)
    assert found == UNCHECKED
    assert found.corrected(np.array([0.3])).tolist() == [0.3]
    assert "not checked" in found.words


def test_a_season_is_not_corrected_by_itself():
    """Other outcomes of one season leave its own corrected chances alone, and move the others'."""
    table = forecasts(windows=200)
    own = table["season"] == 2003
    other = table.assign(happened=np.where(own, ~table["happened"], table["happened"]))
    one, two = recalibrated(table), recalibrated(other)
    np.testing.assert_allclose(one.loc[own, "model"], two.loc[own, "model"])
    assert not np.allclose(one.loc[~own, "model"], two.loc[~own, "model"])


def test_skill_of_useful_chances_is_told():
    """Chances that say something have skill over a flat one; no forecast has none."""
    found = skill(back_test(day_table(seasons=6, seed=8)))
    assert 0 < found["skill_low"] < found["skill"] < found["skill_high"] < 1
    assert np.isnan(skill(forecasts().iloc[:0])["skill"])
