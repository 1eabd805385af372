"""Two stations a few kilometres apart: a planted difference is recovered, none is told where there is none."""

import numpy as np
import pandas as pd
import pytest

from analysis.fit.signs import nearby
from analysis.gather.evidence import terrain
from tests.fit import simulate_evidence as simulate


def test_six_decibels_are_recovered():
    """The same signals, 6 dB apart: told with an interval that holds it, on every heading, and the share heard."""
    table = nearby.neighbours_table(*simulate.neighbours(np.random.default_rng(5), diff_db=6))
    whole = table[table["by"] == nearby.ALL].iloc[0]
    assert whole["verdict"] == nearby.DIFFER
    assert whole["snr_low"] <= 6 <= whole["snr_high"]
    assert whole["snr_high"] - whole["snr_low"] < 2
    assert whole["share"] > whole["share_other"]
    assert whole["km"] == pytest.approx(8.2, abs=0.1)
    assert set(table.loc[table["by"] == nearby.HEADING, "which"]) == set(nearby.SECTORS)
    assert np.isnan(whole["height_m"])


def test_equals_are_not_told_apart():
    """Nothing planted, nothing told."""
    table = nearby.neighbours_table(*simulate.neighbours(np.random.default_rng(6), diff_db=0))
    assert table["verdict"].eq(nearby.NONE).all()


def test_weak_signals_do_not_shrink_the_difference():
    """With most signals near the weakest that can be read the mean of all would say too little, ours does not."""
    spots, on = simulate.neighbours(np.random.default_rng(7), diff_db=8, days=20)
    spots = spots.assign(snr_db=spots["snr_db"] - 4)
    spots = spots[spots["snr_db"] >= -15]
    both = spots.pivot_table(index=["time", "tx_call"], columns="rx_call", values="snr_db").dropna()
    found = nearby.neighbours_table(spots, on).iloc[0]["snr_db"]
    assert (both["Q1UP"] - both["Q1DN"]).mean() < 7.5 < found == pytest.approx(8, abs=0.5)


def test_far_or_roughly_placed_stations_are_no_neighbours():
    """A square of four characters or forty kilometres between them: one line says what would tell."""
    spots, on = simulate.neighbours(np.random.default_rng(8))
    for square in ("IN93", "IN94AA"):
        other = spots.assign(rx_locator=spots["rx_locator"].replace("IN93FL", square))
        table = nearby.neighbours_table(other, on)
        assert table["reason"].tolist() == [nearby.NOBODY]


def test_a_hill_stands_in_one_sector():
    """Ground that rises 300 m some five kilometres north of the second station is its northern horizon alone."""
    heights = np.full((200, 200), 20.0)
    ground = terrain.Terrain(heights, west=-2.0, south=43.0, cell=0.005)
    spots, on = simulate.neighbours(np.random.default_rng(9))
    heights[200 - 1 - round((43.479 + 0.045 - 43.0) / 0.005), :] = 320.0
    table = nearby.neighbours_table(spots, on, ground=ground).set_index("which")
    assert table.loc["N", "horizon_other_deg"] == pytest.approx(np.degrees(np.arctan(290 / 5000)), abs=0.8)
    assert abs(table.loc["S", "horizon_other_deg"]) < 0.3
    assert table.loc["", "height_m"] == 20
    assert pd.isna(ground.at(lon=np.array([5.0]), lat=np.array([43.0])))[0]
