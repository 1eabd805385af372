"""Leads against chance, and the ladder with what nobody could see accounted for."""

import numpy as np
import pandas as pd
import pytest

from analysis.find.signs.first import first_signs
from analysis.fit.signs import blocks
from analysis.fit.signs.climb import chance_and_lead, incidence, rungs_table
from analysis.fit.signs.leads import CHANCE, LEADS, NO_MORE, leads_table
from analysis.fit.signs.level import levels_table
from tests.fit import simulate_signs


def leads_of(seed, **how):
    """Leads of one simulated set."""
    return leads_table(first_signs(*simulate_signs.openings(np.random.default_rng(seed), **how)))


def test_more_reports_are_no_lead():
    """Eight FT8 reports for each of voice come first by minutes, by chance alone; one set in twenty may fool us."""
    tables = [leads_of(seed, n=80).iloc[0] for seed in range(8)]
    assert min(table["median_min"] for table in tables) > 5
    calm = [table for table in tables if table["verdict"] == CHANCE]
    assert len(calm) >= 7
    assert {table["reason"] for table in calm} == {NO_MORE}
    assert abs(np.mean([table["excess_min"] for table in tables])) < 3


def test_a_real_lead_is_found():
    """FT8 that is possible twenty minutes before voice leads by about so much beyond chance."""
    table = leads_of(2, lead_min=20.0).iloc[0]
    assert table["verdict"] == LEADS
    assert 10 < table["excess_min"] < 25


def test_few_openings_are_refused():
    """Five openings prove nothing."""
    table = leads_of(3, n=5, lead_min=60.0)
    assert set(table["verdict"]) == {"refuse"}
    assert table["excess_min"].isna().all()


def test_no_openings_no_rows():
    """Nothing in, nothing out, with every column there."""
    spots, openings = simulate_signs.openings(np.random.default_rng(0), n=3)
    assert leads_table(first_signs(spots.iloc[:0], openings)).empty


def test_cut_leads_are_not_biased():
    """With three leads in ten cut, the median is right to 10 %; without accounting for it, it is not."""
    told, naive, true = [], [], []
    for seed in range(20):
        table, truth = simulate_signs.climbs(np.random.default_rng(seed))
        told.append(chance_and_lead(table[table["ended"] != ""])[1])
        naive.append(simulate_signs.seen_leads(table).median())
        true.append(truth["lead_min"].median())
    assert np.mean(told) == pytest.approx(np.mean(true), rel=0.1)
    assert abs(np.mean(naive) - np.mean(true)) > 2 * abs(np.mean(told) - np.mean(true))


def test_openings_that_end_lead_nowhere():
    """Of two rungs one led to voice and one opening was over: half led, whatever the times."""
    table = pd.DataFrame({"entry_min": [0.0, 0.0], "exit_min": [10.0, 30.0], "ended": ["voice", "over"]})
    assert chance_and_lead(table) == (0.5, 10.0)
    cut = table.assign(ended=["voice", "cut"])
    assert incidence(cut)[1].tolist() == [0.5]


def test_rungs_say_who_was_missing():
    """Below twenty openings the reason counts what was left out and what would help."""
    table, _ = simulate_signs.climbs(np.random.default_rng(1), n=15)
    row = rungs_table(table.assign(start_heard=table["opening"] > 3)).iloc[0]
    assert row["verdict"] == "refuse"
    assert row["n_unwatched"] == 4
    assert row["n_known"] + row["n_unwatched"] + row["n_nobody"] == 15
    assert f"in {row['n_known']} openings only" in row["reason"]
    assert np.isnan(row["chance"])


def slots(*, slope, n=800, seed=0):
    """Quarter-hours whose chance of voice rises with the strongest report."""
    rng = np.random.default_rng(seed)
    best = rng.normal(-5, 8, n)
    season = 2018 + np.arange(n) % 6
    start = pd.to_datetime([f"{year}-06-01" for year in season], utc=True)
    voice = rng.random(n) < 1 / (1 + np.exp(1 - slope * (best + 5)))
    about = {"scope": "region", "band": "6m", "mechanism": "ES", "season": season, "start": start}
    return pd.DataFrame({"best_db": best, "voice_next": voice}).assign(**about)


def test_the_level_that_makes_voice_likely():
    """A planted slope is found with its interval around the truth; none is not made up."""
    curve = levels_table(slots(slope=0.2)).query("what == 'chance of voice'").set_index("level_db")
    assert curve.loc[-5, "low"] < 1 / (1 + np.e) < curve.loc[-5, "high"]
    assert curve.loc[5, "value"] > curve.loc[-15, "value"]
    rung = levels_table(slots(slope=0.2)).iloc[-1]
    assert rung["verdict"] == "supported"
    assert rung["low"] > 1
    assert levels_table(slots(slope=0.0)).iloc[-1]["verdict"] == "cannot tell"
    assert levels_table(slots(slope=0.2, n=30)).iloc[0]["verdict"] == "refuse"


def test_two_seasons_fall_back_on_ten_day_blocks():
    """With too few seasons the blocks are ten days long, with too few of those nothing is known."""
    times = pd.Series(pd.date_range("2024-05-01", periods=60, freq="D", tz="UTC"))
    labels = blocks.blocks(times, pd.Series([2024] * 60))
    assert 6 <= len(np.unique(labels)) <= 7
    known = blocks.mean(pd.Series(np.arange(60.0)), labels)
    assert known.low < 29.5 < known.high
    assert np.isnan(blocks.mean(pd.Series([1.0, 2.0]), [1, 2]).value)


def test_holm_leaves_what_was_not_tested():
    """Two tests and one that could not be made (Holm 1979: 0.01 × 2, 0.04)."""
    assert blocks.holm([0.01, np.nan, 0.04]) == pytest.approx([0.02, np.nan, 0.04], nan_ok=True)
