"""Whatever a tagged table holds, the room's tables come out whole and agree with one another."""

import numpy as np
import pandas as pd
import pytest

from analysis.find.cells import Clock, half_hours
from analysis.find.grouping.patches import find_patches
from analysis.find.listening import find_listening, outages
from analysis.find.openings import find_openings, opening_sensitivity
from analysis.find.signs.first import first_signs
from tests.find.make import tagged


def jumble(seed, *, n=400):
    """Rows with every mechanism, blank calls, unknown places, doubts, both kinds, newest first."""
    rng = np.random.default_rng(seed)
    some = rng.random(n) < 0.1
    rows = {
        "time": pd.Timestamp("2023-12-30", tz="UTC") + pd.to_timedelta(rng.uniform(0, 6, n) ** 2, unit="D"),
        "band": rng.choice(["6m", "2m", "10m"], n),
        "mode": rng.choice(["CW", "SSB", "FT8", "WSPR", "MSK144", "RTTY"], n),
        "kind": rng.choice(["heard", "worked"], n, p=[0.8, 0.2]),
        "tx_call": rng.choice(["Q1A", "Q1B", "Q1C/B", ""], n),
        "rx_call": rng.choice(["Q1RX", "Q2RX", ""], n),
        "doubt": np.where(rng.random(n) < 0.1, "locator", ""),
        "mechanism": rng.choice(["ES", "TR", "MS", "LOS", "AUR", "F2", "undetermined"], n),
        "path_type": rng.choice(["land", "mixed", "sea"], n),
        "distance_km": np.where(some, np.nan, rng.uniform(5, 2500, n)),
        "mid_lon": np.where(some, np.nan, rng.uniform(-180, 180, n)),
        "mid_lat": np.where(some, np.nan, rng.uniform(-70, 70, n)),
    }
    spots = tagged(rows).sort_values("time", ascending=False)
    categories = {name: spots[name].astype("category") for name in ("mechanism", "path_type")}
    return spots.assign(**categories, distance_err_km=5.0, hops=rng.integers(0, 3, n))


@pytest.mark.parametrize("seed", range(3))
def test_tables_agree(seed):
    """Rows stay in place, counts match labels, nobody detects without listening, nothing fails."""
    before = jumble(seed, n=400 if seed else 3)
    listening = find_listening(before)
    spots, openings = find_openings(before, listening=listening)
    pd.testing.assert_frame_equal(spots.drop(columns=["opening", "here"]), before)
    counted = spots["opening"].value_counts().sort_index().rename_axis("opening")
    assert counted.tolist() == openings["n_spots"].tolist()
    assert openings["opening"].tolist() == list(range(1, len(openings) + 1))
    assert openings["start"].is_monotonic_increasing
    assert (openings["end"] >= openings["start"]).all()
    assert spots.loc[spots["doubt"] != "", "opening"].isna().all()
    for mechanism, path_type, axis in (("ES", "all", "solar"), ("TR", "sea", "sun"), ("AUR", "all", "solar")):
        cells = half_hours(
            before, listening, band="6m", mechanism=mechanism, path_type=path_type, clock=Clock(axis=axis)
        )
        assert (cells["n_detected"] <= cells["n_listening"]).all()
        assert cells["hour"].between(0, 24, inclusive="left").all()
        assert cells["start"].is_unique
    signs = first_signs(spots.assign(season=2024), openings)
    assert not signs.duplicated(["opening", "sign", "against"]).any()
    assert set(signs["opening"]) <= set(openings.loc[openings["grade"] == "confirmed", "opening"])
    assert signs["first"].between(0, 1).all()
    assert set(find_patches(spots)["opening"]) <= set(openings["opening"])
    assert len(outages(listening)) == 0
    assert len(opening_sensitivity(before))
