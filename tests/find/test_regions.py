"""Openings have a place: far regions stay apart, and nothing but place and time decides."""

import pandas as pd
import pytest

from analysis.find.openings import find_openings
from analysis.gather import locators
from tests.find.make import at, tagged
from tests.find.simulate_regions import score, two_regions


@pytest.fixture(scope="module")
def regions():
    """Twenty days of two regions 3 000 km apart, two to eight reports an hour."""
    spots = two_regions(11, days=20, per_hour=6)
    return find_openings(spots)


def partition(spots):
    """For each report the first row of its opening, −1 where it has none."""
    number = spots["opening"].sort_index()
    first = number.dropna().drop_duplicates()
    return number.map(pd.Series(first.index, index=first.to_numpy())).fillna(-1).astype(int).tolist()


def test_far_regions_stay_apart(regions):
    """Own bars: no merge across, recall .90 of patches with three reports, precision .85."""
    found = score(*regions)
    assert found["across"] == 0
    assert found["recall"] >= 0.9
    assert found["precision"] >= 0.85


@pytest.mark.parametrize(
    "change",
    [
        lambda spots: spots.assign(mid_lon=(spots["mid_lon"] + 151.7 + 180) % 360 - 180),
        lambda spots: spots.assign(mid_lat=-spots["mid_lat"]),
        lambda spots: spots.assign(mid_lon=-spots["mid_lon"]),
        lambda spots: spots.sample(frac=1, random_state=5),
        lambda spots: spots.assign(time=spots["time"] + pd.Timedelta(days=40, minutes=7)),
    ],
    ids=["turned", "southern", "mirrored", "shuffled", "later"],
)
def test_only_place_and_time_decide(regions, change):
    spots = regions[0].drop(columns=["opening", "here"])
    assert partition(find_openings(change(spots))[0]) == partition(regions[0])


def test_a_report_twice_changes_no_opening(regions):
    spots = regions[0].drop(columns=["opening", "here"])
    twice = pd.concat([spots, spots.iloc[::3]], ignore_index=True)
    found = partition(find_openings(twice)[0])[: len(spots)]
    plain = partition(regions[0])
    # A lone report that is heard twice makes an opening of its own; what was one stays the same.
    assert [one for one, other in zip(found, plain, strict=True) if other >= 0] == [
        n for n in plain if n >= 0
    ]


def test_one_that_drifts_is_one():
    """A patch that moves 600 km in two hours is one opening, and the way of its centre is told."""
    calls = [f"Q{n % 12}TX" for n in range(41)]
    rows = at(range(0, 123, 3), tx_call=calls, mid_lat=47.0)
    rows["mid_lon"] = [8.0 - 7.9 * n / 40 for n in range(41)]  # 600 km westward
    _, table = find_openings(tagged(rows), gap_min=30)
    assert len(table) == 1
    row = table.iloc[0]
    assert row["from_lon"] - row["to_lon"] == pytest.approx(7.9, abs=0.3)
    assert row["extent_km"] < 50  # at any one time it was narrow


def test_two_at_once_far_apart_are_two():
    """Two patches 1 500 km apart at the same minutes are two openings, each with its place."""
    calls = ["Q1A", "Q1B", "Q1C"] * 2
    rows = at([0, 5, 10, 1, 6, 11], tx_call=calls, mid_lat=47.0)
    rows["mid_lon"] = [0.0] * 3 + [20.0] * 3
    _, table = find_openings(tagged(rows), gap_min=30)
    assert table["mid_lon"].tolist() == [0.0, 20.0]


def test_home_s_own_contacts_can_speak_against_it():
    """Others worked a patch that would have served home, while home made four short contacts and no long one."""
    far = {"mid_lon": 6.0, "mid_lat": 47.0, "distance_km": 1200.0, "rx_locator": "JO00", "tx_locator": "JN66"}
    near = {
        "mechanism": "LOS",
        "kind": "worked",
        "rx_locator": "IN93",
        "tx_locator": "IN93",
        "distance_km": 40.0,
    }
    opened = at([0, 5, 10], tx_call=["Q1A", "Q1B", "Q1C"], **far)
    busy = at([1, 4, 6, 9], tx_call=["Q2A", "Q2B", "Q2C", "Q2D"], rx_call="Q2HOME", **near)
    home = locators.place("IN93")
    plain = {"kind": "heard", "mechanism": "ES"}
    for rows, here in ((opened, 1), (pd.concat([opened.assign(**plain), busy], ignore_index=True), 0)):
        _, table = find_openings(tagged(rows), gap_min=30, home=home)
        assert (table["scope"] == "here").sum() == here
        assert (table["scope"] == "region").sum() == 1


def test_a_weekend_as_two_homes_saw_it(real_inputs):
    """6 m over a continent: what stations in EM74 worked, and what those in EN37 did, are not the same."""
    files = pytest.importorskip("analysis.gather.files")
    tags = pytest.importorskip("analysis.tag.tags")
    logs = [str(path) for path in sorted((real_inputs / "weekend_logs").glob("*.log"))]
    spots = tags.tag_spots(files.gather_files(logs).spots)
    spots = spots[spots["band"] == "6m"]
    seen = {}
    for home in ("EM74", "EN37"):
        _, table = find_openings(spots, home=locators.place(home))
        mine = table[(table["mechanism"] == "ES") & (table["grade"] != "single")]
        seen[home] = dict(list(mine.groupby("scope")))
    own = seen["EM74"]["neighbours"].sort_values("start")
    own = own[own["grade"] == "confirmed"]
    told = [(f"{one.start:%d %H%M}", f"{one.end:%d %H%M}") for one in own.itertuples()]
    # Source: README of the real inputs (counted from the original logs of two stations).
    assert told == [("09 1312", "09 1835"), ("09 2255", "10 0000")]
    assert len(seen["EN37"]["neighbours"]) > 2
    # What home could have used, without what one far station alone, or meteors, would make of it.
    here = seen["EM74"]["here"]
    here = here[here["duration_min"] >= 30].sort_values("start")
    quarter = pd.Timedelta(minutes=15)
    wanted = [("2024-06-09 13:12", "2024-06-09 18:35"), ("2024-06-09 22:55", "2024-06-10 00:00")]
    assert len(here) == len(wanted)
    for row, (first, last) in zip(here.itertuples(), wanted, strict=True):
        assert abs(row.start - pd.Timestamp(first, tz="UTC")) <= quarter
        assert abs(row.end - pd.Timestamp(last, tz="UTC")) <= quarter
    # On the 8th, 1830 to 2200 UTC, they are known to have had nothing while others had long paths.
    first, last = pd.Timestamp("2024-06-08 18:30", tz="UTC"), pd.Timestamp("2024-06-08 22:00", tz="UTC")
    for home, scope, known in (("EM74", "here", 0), ("EM74", "region", 1), ("EN37", "here", 1)):
        table = seen[home][scope]
        assert ((table["start"] < last) & (table["end"] > first)).any() == known
