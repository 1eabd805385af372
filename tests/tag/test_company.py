"""Company counted by hand on a few spots."""

import numpy as np
import pandas as pd
import pytest

from analysis.tag import bands, company

SIX, TWO, SEVENTY = (bands.BANDS.index(name) for name in ("6m", "2m", "70cm"))
DIGITAL = bands.MODES.index("slow digital")


def count(rows, **overrides):
    """Company classes of rows (minute, pair, km, lon, lat); bands and modes by keyword."""
    frame = pd.DataFrame(rows, columns=["minute", "pair", "distance_km", "company_lon", "company_lat"])
    frame["time"] = pd.Timestamp("2024-06-10 10:00", tz="UTC") + pd.to_timedelta(frame["minute"], unit="min")
    n = len(frame)
    frame["doubt"] = overrides.get("doubt", "")
    band = np.broadcast_to(overrides.get("band", SIX), n)
    mode = np.broadcast_to(overrides.get("mode", DIGITAL), n)
    return company.company(frame, pair=frame["pair"].to_numpy("int64"), band=band, mode=mode)


def cluster(n, *, km=1200.0, lon=3.0, lat=47.0, every=1, first=0):
    """`n` pairs with one midpoint, one after the other."""
    return [(first + number * every, first * 100 + number, km, lon, lat) for number in range(n)]


def test_own_pair_is_no_neighbour():
    """The same pair heard twenty times has no neighbour, in a thin log class 0."""
    again = [(minute, 0, 1200.0, 3.0, 47.0) for minute in range(20)]
    assert set(count(again)["neighbours"]) == {0}
    assert set(count(cluster(2))["neighbours"]) == {2}
    assert set(count(cluster(4))["neighbours"]) == {3}
    assert set(count(cluster(11))["neighbours"]) == {4}


def test_a_pair_in_company_twice_counts_once():
    """Three spots of two pairs are one neighbour to each."""
    rows = [(0, 0, 1200.0, 3.0, 47.0), (1, 1, 1200.0, 3.0, 47.0), (2, 1, 1200.0, 3.0, 47.0)]
    assert count(rows)["neighbours"].tolist() == [2, 2, 2]


@pytest.mark.parametrize(
    ("change", "near"),
    [({"minute": 40}, False), ({"minute": 14}, True), ({"lat": 57.0}, False), ({"km": 200.0}, False)],
)
def test_near_in_time_and_space_and_not_local(change, near):
    """40 minutes later, 1100 km away or over a local path is no company."""
    values = {"minute": 1, "km": 1200.0, "lon": 3.0, "lat": 47.0} | change
    other = (values["minute"], 1, values["km"], values["lon"], values["lat"])
    assert (count([(0, 0, 1200.0, 3.0, 47.0), other])["neighbours"][0] == 2) == near


def test_doubtful_reports_bear_out_nothing():
    """A second path whose report is doubtful is no company."""
    assert count(cluster(2), doubt=["", "heard once"])["neighbours"].tolist()[0] == 0


def test_pings_and_other_bands_are_no_company():
    """Neither a meteor mode nor another band counts as a neighbour."""
    rows = cluster(2)
    assert count(rows, mode=np.array([DIGITAL, bands.METEOR_MODE]))["neighbours"][0] == 0
    assert count(rows, band=np.array([SIX, TWO]))["neighbours"][0] == 0


def test_absence_tells_where_company_is_usual():
    """Alone among forty accompanied paths is class 1, alone in a log of loners class 0."""
    rows = [*cluster(40), (300, 999, 1200.0, -30.0, 47.0)]
    assert count(rows)["neighbours"][-1] == 1
    assert count(rows)["lasting"][-1] == 1
    loners = [(number * 300, number, 1200.0, 3.0, 47.0) for number in range(41)]
    assert set(count(loners)["neighbours"]) == {0}
    assert set(count(loners)["lasting"]) == {0}


def test_lasting():
    """One, three and six ten-minute slots in use within two hours, counted once each."""
    for every, slots in ((1, 1), (10, 3)):
        rows = cluster(slots if every == 10 else 3, every=every)
        assert set(count(rows)["lasting"]) == ({0} if slots == 1 else {3})
    assert set(count(cluster(6, every=10))["lasting"]) == {4}


def test_reach_is_that_of_the_neighbours():
    """Company at 500 km, at 1000 and at 1500; none is class 0."""
    for km, expected in ((400.0, 1), (500.0, 2), (1000.0, 3), (1500.0, 4)):
        assert set(count(cluster(3, km=km))["reach"]) == {expected}
    assert count(cluster(1))["reach"].tolist() == [0]


def test_region():
    """Long paths a thousand kilometres away count in the region, not as neighbours."""
    rows = [(0, 0, 1200.0, 3.0, 47.0), *cluster(4, lat=51.0, lon=12.0, first=2)]
    result = count(rows)
    assert result["region"][0] == 2
    assert result["neighbours"][0] == 0


def test_region_forgets_after_an_hour():
    """The same long paths two and a half hours later bear out nothing."""
    rows = [(0, 0, 1200.0, 3.0, 47.0), *cluster(4, lat=51.0, lon=12.0, first=150)]
    assert count(rows)["region"][0] == 0


def test_other_bands():
    """2 m hears of a long 6 m path and of a 70 cm path at the same place, and 6 m of the latter."""
    rows = cluster(3)
    assert count(rows, band=np.array([TWO, SIX, SEVENTY]))["company"].tolist() == [3, 2, 1]
    assert count(rows, band=np.array([TWO, TWO, TWO]))["company"].tolist() == [0, 0, 0]


def test_nothing_to_count():
    """No rows, and rows without a place."""
    frame = pd.DataFrame({"time": pd.to_datetime([], utc=True)})
    frame[["distance_km", "company_lon", "company_lat", "doubt"]] = np.empty((0, 4))
    nobody = np.array([], dtype="int64")
    assert len(company.company(frame, pair=nobody, band=nobody, mode=nobody)["neighbours"]) == 0
    unknown = count([(0, 0, np.nan, np.nan, np.nan), (0, 1, np.nan, np.nan, np.nan)])
    assert unknown["neighbours"].tolist() == [0, 0]
    assert unknown["reach"].tolist() == [0, 0]


@pytest.mark.parametrize(("km", "near"), [(249.0, False), (250.0, True)])
def test_a_local_path_ends_at_250_km(km, near):
    """Nearer paths are always there and bear out nothing."""
    rows = [(0, 0, 1200.0, 3.0, 47.0), (1, 1, km, 3.0, 47.0)]
    assert (count(rows)["neighbours"][0] == 2) == near


@pytest.mark.parametrize(("km", "region"), [(899.0, 0), (900.0, 1)])
def test_a_long_path_begins_at_900_km(km, region):
    """Of the region's paths only the long ones are company."""
    rows = [(0, 0, 1200.0, 3.0, 47.0), (1, 1, km, 3.5, 47.5)]
    assert count(rows)["region"][0] == region


@pytest.mark.parametrize(("alone", "usual"), [(16, True), (17, False)])
def test_company_is_usual_from_three_in_five(alone, usual):
    """24 accompanied paths: with 16 loners beside them they are 60 %, with 17 less."""
    rows = [*cluster(24), *[(300 * (k + 1), 900 + k, 1200.0, -30.0, 47.0) for k in range(alone)]]
    assert (count(rows)["neighbours"][-1] == 1) == usual


def test_thirty_paths_tell_what_is_usual():
    """A band with 29 paths that count says nothing of what is usual, one with 30 does."""
    for n, told in ((28, 0), (29, 1)):
        rows = [*cluster(n), (300, 999, 1200.0, -30.0, 47.0)]
        assert count(rows)["neighbours"][-1] == told
