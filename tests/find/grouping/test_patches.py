"""Patches of sporadic E: size and drift of a known disc, and silence where the midpoints cannot tell."""

import numpy as np
import pandas as pd
import pytest

from analysis.find.grouping.patches import COLUMNS, drift, find_patches
from tests.find.make import at, tagged
from tests.find.simulate import drifting_patch


def largest(spots):
    """The patch with most spots."""
    return find_patches(spots).sort_values("n_spots").iloc[-1]


def many(n, **disc):
    """The largest patch of each of `n` seeded discs; a disc where nobody lives has none."""
    discs = [find_patches(drifting_patch(np.random.default_rng(seed), **disc)) for seed in range(n)]
    return pd.DataFrame([found.sort_values("n_spots").iloc[-1] for found in discs if len(found)])


@pytest.fixture(scope="module")
def drifts():
    """Forty discs of 150 km that drift at 60 m/s toward 290 degrees over stations that live in clusters."""
    return many(40, speed_ms=60)


def test_drift_is_recovered(drifts):
    """The median speed is within 10 % of the truth; 90 % intervals hold it in 80 % of the discs or more."""
    known = drifts[drifts["speed_high"].notna()]
    moving = drifts[drifts["verdict"] == "moving"]
    assert len(moving) >= 25
    assert moving["speed_ms"].median() == pytest.approx(60, rel=0.1)
    assert known["speed_high"].gt(60).mean() >= 0.85
    assert ((known["speed_low"] <= 60) & (known["speed_high"] >= 60)).mean() >= 0.8


def test_direction_is_recovered(drifts):
    """The median error of the bearing is below 10 degrees, its intervals hold it in 80 % or more."""
    moving = drifts[drifts["verdict"] == "moving"]
    assert ((moving["toward_deg"] - 290 + 180) % 360 - 180).abs().median() < 10
    width = (moving["toward_high"] - moving["toward_low"]) % 360
    assert ((290 - moving["toward_low"]) % 360 <= width).mean() >= 0.8


def test_size_is_recovered(drifts):
    """The disc's radius is found within 15 %."""
    assert drifts["radius_km"].median() == pytest.approx(150, rel=0.15)


def test_a_standing_patch_is_seldom_said_to_move():
    """A disc at rest: at most one in five called moving, no speed given for the others."""
    found = many(30, speed_ms=0)
    assert (found["verdict"] == "moving").mean() <= 0.2
    assert found.loc[found["verdict"] == "cannot tell", ["speed_ms", "toward_deg"]].isna().all(axis=None)


def test_faster_than_any_patch_is_implausible():
    """A disc that runs at 400 m/s is set apart."""
    rng = np.random.default_rng(4)
    spots = drifting_patch(rng, speed_ms=400, minutes=60, paths=6000, radius_km=250, uneven=False)
    assert largest(spots)["verdict"] == "implausible"


def test_two_patches_stay_apart():
    """Two discs 1 500 km apart at the same time are two patches; two-hop reports count for neither."""
    one = drifting_patch(np.random.default_rng(1), speed_ms=50)
    other = one.assign(mid_lon=one["mid_lon"] + 20, hops=2)
    both = pd.concat([one, one.assign(mid_lon=one["mid_lon"] + 20)], ignore_index=True)
    assert len(find_patches(both)) == 2 * len(find_patches(one))
    assert len(find_patches(pd.concat([one, other], ignore_index=True))) == len(find_patches(one))


def test_across_the_date_line():
    """The same disc at 180 degrees drifts as it does at 0, and its centre has a right longitude."""
    here = drifting_patch(np.random.default_rng(2), speed_ms=80)
    there = here.assign(mid_lon=(here["mid_lon"] + 180 + 180) % 360 - 180)
    plain, moved = largest(here), largest(there)
    assert moved["speed_ms"] == pytest.approx(plain["speed_ms"], rel=1e-6)
    assert -180 <= moved["lon"] < 180
    assert abs((moved["lon"] - plain["lon"]) % 360 - 180) < 1e-6


def test_few_paths_give_words():
    """Three paths: no size, no speed, a reason."""
    spots = tagged(at([0, 2, 4, 6, 8, 30], tx_call=["Q1A", "Q1B", "Q1C"] * 2)).assign(
        opening=1, distance_err_km=0.0
    )
    patch = largest(spots)
    assert patch["verdict"] == "cannot tell"
    assert "paths" in patch["reason"]
    assert np.isnan(patch["speed_ms"])
    assert np.isnan(patch["radius_km"])


@pytest.mark.parametrize("spread", ["one point", "one line"])
def test_many_stations_in_few_squares_give_words(spread):
    """Locators so coarse that all midpoints lie on a point or a line show no drift, whatever their number."""
    minute = np.repeat(np.arange(0, 60, 2.0), 12)
    calls = [f"Q{k}TX" for k in range(12)] * 30
    east = 0.0 if spread == "one point" else np.tile(np.arange(12) % 3 * 0.5, 30)
    patch = largest(tagged(at(minute, tx_call=calls, mid_lon=east)).assign(opening=1, distance_err_km=80.0))
    assert patch["n_paths"] == 12
    assert patch["verdict"] == "cannot tell"
    assert "locators" in patch["reason"]
    assert np.isnan(patch["speed_ms"])


def test_one_path_that_alone_tells_the_time_is_no_drift():
    """Eleven paths at one minute and one path all the hour: without that path there is no line at all."""
    minute = [0.0] * 11 + [float(k) for k in range(0, 60, 3)]
    calls = [f"Q{k}TX" for k in range(11)] + ["Q99TX"] * 20
    east = [*np.linspace(-0.5, 0.5, 11), *np.linspace(0, 1, 20)]
    north = [*np.linspace(46.8, 47.2, 11) ** 1.01, *np.linspace(47, 47.5, 20)]
    spots = at(minute, tx_call=calls, mid_lon=east, mid_lat=north)
    assert largest(tagged(spots).assign(opening=1, distance_err_km=0.0))["verdict"] == "cannot tell"


def test_no_openings_no_patches():
    """Without sporadic E the table is empty and has its columns."""
    spots = tagged(at([0, 1], mechanism="TR")).assign(opening=1, distance_err_km=0.0)
    assert list(find_patches(spots).columns) == COLUMNS
    assert find_patches(spots).empty


def test_the_error_of_a_drift_is_the_jackknife_s_widened():
    """Paths left out in turn, by an independent fit; the interval is 1.3 times as wide."""
    rng = np.random.default_rng(8)
    path = np.repeat(np.arange(9), 4)
    minute, weight = rng.uniform(0, 60, 36), rng.uniform(0.2, 1, 36)
    x, y = 3.0 * minute + rng.normal(0, 30, 36), rng.normal(0, 30, 36)
    found = drift(x, y, minute, path=path, weight=weight)
    lines = np.array(
        [
            [np.polyfit(minute[path != k], z[path != k], 1, w=np.sqrt(weight[path != k]))[0] for z in (x, y)]
            for k in range(9)
        ]
    )
    off = (lines - lines.mean(axis=0)) * 1000 / 60
    np.testing.assert_allclose(found["covariance"], 1.3**2 * 8 / 9 * off.T @ off, rtol=1e-6)
    whole = [np.polyfit(minute, z, 1, w=np.sqrt(weight))[0] * 1000 / 60 for z in (x, y)]
    np.testing.assert_allclose(found["velocity"], whole)


def crowd(n, *, paths=None, minutes=60.0):
    """So many reports of one opening whose midpoints lie within 100 km."""
    rng = np.random.default_rng(3)
    calls = [f"Q{k % (paths or n)}RX" for k in range(n)]
    rows = at(
        np.linspace(0, minutes, n),
        rx_call=calls,
        mid_lon=rng.uniform(0, 0.8, n),
        mid_lat=rng.uniform(47, 47.8, n),
    )
    return tagged(rows).assign(opening=1, hops=1)


def test_a_crowd_at_its_edges():
    """Five midpoints make one; eight paths and twenty minutes are needed for its way to be told."""
    assert find_patches(crowd(4)).empty
    assert len(find_patches(crowd(5))) == 1
    assert "fewer than 8" in find_patches(crowd(30, paths=7))["reason"].iloc[0]
    assert "fewer than 8" not in find_patches(crowd(30, paths=8))["reason"].iloc[0]
    assert "less than 20" in find_patches(crowd(30, minutes=19.9))["reason"].iloc[0]
    assert "less than 20" not in find_patches(crowd(30, minutes=20.0))["reason"].iloc[0]
