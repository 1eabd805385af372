"""Skeds: the path decides the mechanism, the middle of the path the hours, both clocks are right."""

import numpy as np
import pandas as pd
import pytest

from analysis.fit.estimate import Series
from analysis.gather.problems import InputError
from analysis.plan.skeds import COLUMNS, Sked, path_share, sked_path, sked_table
from tests.fit.simulate import simulate


@pytest.fixture(scope="module")
def series():
    """Three simulated seasons of sporadic E."""
    return Series("6m", "ES", "all", "solar", "A", simulate("es6", seasons=3, seed=1).cells)


def reports(n=40, *, lon, lat, distance_km=1400.0, served=20):
    """Reports in `n` half-hours, the first `served` of them with their middle at a point."""
    times = pd.date_range("2024-06-10", periods=n, freq="30min", tz="UTC")
    table = pd.DataFrame({"time": times, "mid_lon": lon, "mid_lat": lat, "distance_km": distance_km})
    table.loc[served:, "mid_lat"] = lat + 10
    return table.assign(band="6m", mechanism="ES", path_type="land", opening=1)


def test_path_decides_the_mechanism():
    """Short paths are for tropo, longer ones for one or two hops, the longest for neither."""
    hops = {partner: sked_path("IN93", partner) for partner in ("IN92", "JN18", "JO62", "KO85", "QF56")}
    assert set(hops["IN92"]["points"]) == {"TR"}
    assert set(hops["JN18"]["points"]) == {"ES", "TR"}
    assert hops["JO62"]["hops"] == 1
    assert hops["KO85"]["hops"] == 2
    assert len(hops["KO85"]["points"]["ES"]) == 2
    assert hops["QF56"]["points"] == {}
    with pytest.raises(InputError, match="no locator"):
        sked_path("IN93", "nowhere")


def test_share_by_hand():
    """Half of the half-hours had a report near the middle; reports over much longer paths prove nothing."""
    assert path_share(reports(lon=5.0, lat=48.0), points=[(5.0, 48.0)], hop_km=1400) == (40, 20)
    assert path_share(reports(lon=5.0, lat=48.0), points=[(5.0, 48.0)], hop_km=1000) == (40, 0)
    assert path_share(reports(lon=5.0, lat=48.0), points=[(5.0, 48.0), (5.0, 58.0)], hop_km=1400) == (40, 0)


def test_both_clocks(series):
    """The best hours of July in UTC, in Madrid two hours later and in London one."""
    path = sked_path("IN93", "JO62")
    spots = reports(lon=path["mid_lon"], lat=path["mid_lat"])
    table = sked_table(
        [series],
        spots,
        Sked(home="IN93", partner="JO62", partner_zone="Europe/London"),
        zone="Europe/Madrid",
        year=2025,
    )
    assert list(table.columns) == COLUMNS
    july = table[table["month"] == 7]
    # Directive 2000/84/EC and the Summer Time Order 2002: UTC + 2 and UTC + 1 in July.
    assert (july["local_hour"] - july["utc_hour"]).tolist() == [2, 2, 2]
    assert (july["partner_hour"] - july["utc_hour"]).tolist() == [1, 1, 1]
    assert july["chance"].is_monotonic_decreasing
    assert (july["low"] < july["chance"]).all()
    assert (july["chance"] < july["high"]).all()
    assert table["share"].unique().tolist() == [0.5]
    assert not np.array_equal(july["chance"], table.loc[table["month"] == 12, "chance"])


@pytest.mark.parametrize(
    ("n", "served", "words"), [(10, 10, "10 open half-hours"), (40, 0, "nobody reported")]
)
def test_thin_evidence_is_words(series, n, served, words):
    """Too few openings, or none near the middle of the path: one row, no number."""
    path = sked_path("IN93", "JO62")
    spots = reports(n, lon=path["mid_lon"], lat=path["mid_lat"], served=served)
    table = sked_table([series], spots, Sked(home="IN93", partner="JO62"), zone="UTC", year=2025)
    assert table[["chance", "low", "high", "month"]].isna().all(axis=None)
    assert words in table["reason"].iloc[0]


def test_path_beyond_reach_is_empty(series):
    """No mechanism of ours bridges half the Earth."""
    table = sked_table(
        [series],
        reports(lon=0.0, lat=50.0),
        Sked(home="IN93", partner="QF56"),
        zone="UTC",
        year=2025,
    )
    assert table.empty
