"""Every season beside the others: index, trend, above and below, by receivers that ran throughout."""

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest

from analysis.fit.estimate import Series
from analysis.fit.season import seasons_table
from analysis.fit.season_index import block_dispersion, index_trend, season_index
from tests.fit.make_series import found, series


def test_season_index_follows_the_truth():
    """The index of each simulated season goes with the openings that really happened."""
    data = found("es6", seasons=8)
    truth = data.truth.groupby("season")["open"].mean().to_numpy()
    index, error = season_index(series("es6", seasons=8).fit)
    assert np.corrcoef(np.log(index), np.log(truth))[0, 1] >= 0.93
    assert (error > 0).all()


def test_openings_come_in_runs():
    """Five-day totals of simulated sporadic E spread more than independent half-hours would."""
    assert block_dispersion(series("es6").fit) > 1.5


def test_trend_needs_four_seasons():
    """Three seasons give words; eight give a slope whose interval holds that of the truth."""
    assert index_trend(series("es6", seasons=3)).verdict == "refuse"
    truth = np.log(found("es6", seasons=8).truth.groupby("season")["open"].mean().to_numpy())
    x = np.arange(8) - 3.5
    trend = index_trend(series("es6", seasons=8))
    assert trend.low <= np.expm1(x @ truth / (x @ x)) <= trend.high


def with_effects(effects, **about):
    """Eight simulated seasons whose fitted season effects are these."""
    fit = series("es6", seasons=8).fit
    coef = fit.coef.copy()
    coef[-11:-3] = effects
    one = Series("6m", "ES", "all", "solar", "A", found("es6", seasons=8).cells, **about)
    one.__dict__["fit"] = replace(fit, coef=coef)
    return one


def test_trend_is_the_slope_of_the_season_effects():
    """Effects that grow by 0.05 a year in the log odds of a rare event are a trend of nearly 5 % a year."""
    trend = index_trend(with_effects(0.05 * np.arange(8)))
    assert trend.value == pytest.approx(0.05, abs=0.005)
    # Eight points on a line may lie there by luck: half the interval comes from the assumed spread alone.
    assert trend.high - trend.low > 2 * 1.86 * 0.45 * np.sqrt(2 / 8) / np.sqrt(42)
    assert trend.verdict == "cannot tell"
    assert index_trend(with_effects(0.4 * np.arange(8))).verdict == "rising"
    assert index_trend(with_effects(-0.4 * np.arange(8))).verdict == "falling"


def test_growth_of_transmitters_is_no_trend():
    """An index that rises no faster than the stations that transmit is not said to rise."""
    senders = pd.DataFrame({"heard": np.exp(0.4 * np.arange(8))}, index=np.arange(2018, 2026))
    trend = index_trend(with_effects(0.4 * np.arange(8), senders=senders))
    assert trend.verdict == "cannot tell"
    assert "49% more senders each year" in trend.reason
    fewer = pd.DataFrame({"heard": 100.0}, index=senders.index)
    assert index_trend(with_effects(0.4 * np.arange(8), senders=fewer)).verdict == "rising"
    # Watched paths allow for who was on the air, so that a tenth of the growth is all that may leak.
    watched = with_effects(0.4 * np.arange(8), senders=senders, thinned=pd.DataFrame())
    assert index_trend(watched).verdict == "rising"
    assert index_trend(with_effects(0.1 * np.arange(8), senders=senders, thinned=pd.DataFrame())).verdict == (
        "cannot tell"
    )


def test_seasons_are_compared_by_steady_receivers():
    """Index, trend and verdict come from the receivers that ran in every season, opening days from all."""
    data = found("es6", seasons=6)
    later = data.cells["season"] > data.cells["season"].min() + 2
    grown = data.cells.assign(n_detected=data.cells["n_detected"].where(later, 0))
    one = Series("6m", "ES", "all", "solar", "A", grown, steady=data.cells)
    assert index_trend(replace(one, steady=None)).verdict == "rising"
    trend = index_trend(one)
    assert trend.verdict == "cannot tell"
    assert "ran in every season" in trend.reason
    rows = seasons_table([one]).set_index("season")
    assert rows["opening_days"].iloc[0] == 0
    assert rows["index"].iloc[0] > 0.3


def test_receivers_that_come_and_go_carry_no_comparison():
    """No receiver in every season: no index, words; the curves stand."""
    cells = found("es6", seasons=6).cells
    one = Series("6m", "ES", "all", "solar", "A", cells, steady=cells.assign(n_listening=0, n_detected=0))
    rows = seasons_table([one])
    assert rows["index"].isna().all()
    assert set(rows["verdict"]) == {"provisional"}
    assert rows["reason"].str.contains("receivers came and went").all()
    assert np.isnan(index_trend(one).value)
    assert one.fit.verdict.status == "ok"


def test_a_poor_season_is_below_normal():
    """Take away nine tenths of the openings of one season: below; the others are not called below."""
    cells = found("es6", seasons=8).cells
    year = int(cells["season"].max())
    loser = (cells["season"] == year) & (cells["season_day"] % 10 != 0)
    poor = Series(
        "6m", "ES", "all", "solar", "A", cells.assign(n_detected=cells["n_detected"].where(~loser, 0))
    )
    table = seasons_table([poor]).set_index("season")
    assert table.loc[year, "verdict"] in ("below", "provisional")
    assert table.loc[year, "index"] < 0.4


def crowded(last_days, *, seasons=6, half_hours=120):
    """Seasons of 60 opening days with two half-hours each; the last has as many half-hours on fewer days."""
    frames = []
    for season in range(2000, 2000 + seasons):
        days = last_days if season == 1999 + seasons else 60
        day, half = (x.ravel() for x in np.meshgrid(np.arange(-183, 183), np.arange(48), indexing="ij"))
        opened = np.isin(day, np.arange(days) - days // 2) & (
            np.abs(half - 24) < half_hours // days / 2 + 0.5
        )
        start = pd.Timestamp(season, 6, 21, tz="UTC") + pd.to_timedelta(day * 24 + half / 2, unit="h")
        frame = pd.DataFrame({"start": start, "season": season, "season_day": day, "hour": half / 2 + 0.25})
        frames.append(frame.assign(n_listening=3, n_detected=2 * opened))
    return pd.concat(frames, ignore_index=True)


@pytest.mark.parametrize(("tier", "verdict"), [("A", "below"), ("B", "normal")])
def test_without_monitors_the_index_is_compared_not_the_days(tier, verdict):
    """Opening days also count how many people were on; so without monitors the half-hours decide."""
    table = seasons_table([Series("6m", "ES", "all", "solar", tier, crowded(15))])
    assert table["opening_days"].tolist() == [60] * 5 + [15]
    assert table["verdict"].iloc[-1] == verdict
