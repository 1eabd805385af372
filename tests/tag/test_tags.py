"""All tags together: columns, order, time zones, missing values."""

import os
import time

import numpy as np
import pandas as pd
import pytest

from analysis.gather import spots
from analysis.tag import paths, tags
from tests.tag.mixed_season import mixed_season

ADDED = [
    "distance_km",
    "distance_err_km",
    "bearing_deg",
    "mid_lon",
    "mid_lat",
    "solar_hour",
    "from_sunrise_h",
    "from_sunset_h",
    "sun_elev_deg",
    "light",
    "season",
    "season_day",
    "sea_share",
    "longest_land_km",
    "longest_inland_km",
    "path_type",
    "path_type_p",
    "mechanism",
    "mechanism_p",
    "mechanism_why",
    "hops",
    "ordinary_km",
]


@pytest.fixture(scope="module")
def table():
    """Some thousand spots of a mixed season, a few without locators."""
    season, _ = mixed_season(seed=5, degraded=True)
    season.loc[::50, "tx_locator"] = ""
    return season


@pytest.fixture(scope="module")
def tagged(table):
    return tags.tag_spots(table)


def test_columns_are_added_and_nothing_else(table, tagged):
    """The input columns come first and unchanged, then the glossary's."""
    assert sorted(tagged.columns) == sorted([*spots.COLUMNS, *ADDED])
    pd.testing.assert_frame_equal(tagged[list(spots.COLUMNS)], table)


def test_tagging_twice_is_tagging_once(tagged):
    """A tagged table can be tagged again; nothing is doubled."""
    pd.testing.assert_frame_equal(tags.tag_spots(tagged), tagged)


def test_input_is_left_alone(table):
    """Tagging changes nothing in the table that was given."""
    before = table.copy()
    tags.tag_spots(table)
    pd.testing.assert_frame_equal(table, before)


def test_order_of_rows_does_not_matter(table, tagged):
    """Shuffled in, shuffled out, every tag the same."""
    shuffled = table.sample(frac=1, random_state=1)
    again = tags.tag_spots(shuffled).sort_index()
    for name in again:
        left, right = again[name], tagged[name]
        if isinstance(left.dtype, pd.CategoricalDtype):
            left, right = left.astype("object"), right.astype("object")
        pd.testing.assert_series_equal(left, right)


def test_time_zone_of_the_machine_does_not_matter(table, tagged, monkeypatch):
    """The same tags on a machine in Auckland."""
    if not hasattr(time, "tzset"):
        pytest.skip("this system cannot change its time zone for one process")
    monkeypatch.setenv("TZ", "Pacific/Auckland")
    time.tzset()
    try:
        again = tags.tag_spots(table)
    finally:
        monkeypatch.undo()
        os.environ.setdefault("TZ", "UTC")
        time.tzset()
    pd.testing.assert_frame_equal(again, tagged)


def test_pairs_known_before_give_the_same(table, tagged):
    """Batches tagged with the paths worked out before get the same paths."""
    lines = tags.path_tags(paths.pair_codes(table)[1])
    again = tags.tag_spots(table, lines=lines.sample(frac=1, random_state=2))
    pd.testing.assert_frame_equal(again, tagged)


def test_missing_locators(table, tagged):
    """Rows without a locator keep their place, with nothing invented."""
    missing = tagged[table["tx_locator"] == ""]
    numbers = [name for name in ADDED if tagged[name].dtype.kind == "f"]
    assert missing[numbers].isna().all().all()
    assert missing[["season", "season_day", "light", "path_type"]].isna().all().all()
    assert (missing["mechanism"] == "undetermined").all()
    assert missing["mechanism_why"].str.len().gt(20).all()
    rest = tagged[table["tx_locator"] != ""]
    assert rest[["distance_km", "solar_hour", "season", "path_type_p", "mechanism_p"]].notna().all().all()


def test_ranges(tagged):
    """Numbers lie where the glossary says."""
    known = tagged.dropna(subset=["distance_km"])
    assert known["bearing_deg"].between(0, 360, inclusive="left").all()
    assert known["solar_hour"].between(0, 24, inclusive="left").all()
    assert known["sea_share"].between(0, 1).all()
    assert known["path_type_p"].between(0, 1).all()
    assert (known["longest_inland_km"] <= known["longest_land_km"] + 1e-3).all()
    assert known["mechanism_p"].between(0, 1).all()
    assert known["season_day"].between(-183, 183).all()
    assert (known["hops"] > 0).equals(known["mechanism"] == "ES")


def test_light_agrees_with_the_hours(tagged):
    """It is day after the nearest sunrise and before the nearest sunset."""
    known = tagged.dropna(subset=["from_sunrise_h", "from_sunset_h"])
    rise, sets = known["from_sunrise_h"], known["from_sunset_h"]
    sure = (rise.abs() > 0.02) & (sets.abs() > 0.02)
    latest_is_rise = (rise > 0) & ((sets < 0) | (rise < sets)) | ((rise < 0) & (sets < 0) & (rise < sets))
    assert ((known["light"] == "day") == latest_is_rise)[sure].all()


def test_path_tags():
    """Sea paths see more ducts than inland ones, by the Recommendation's ratio at 50 N."""
    pairs = pd.DataFrame({"tx_locator": ["IN18", "JO51"], "rx_locator": ["HN97", "JO94"]})
    lines = tags.path_tags(pairs)
    assert lines["path_type"].tolist() == ["sea", "land"]
    assert 4 < lines["beta0_percent"].iloc[0] / lines["beta0_percent"].iloc[1] < 9


def test_empty_table():
    """No spots in, no spots out, all columns there."""
    empty = spots.as_spots(pd.DataFrame({"time": pd.to_datetime([], utc=True)}))
    tagged = tags.tag_spots(empty)
    assert len(tagged) == 0
    assert set(ADDED) <= set(tagged.columns)


def test_index_is_kept(table):
    """Rows are found again under their own labels."""
    part = table.iloc[100:200].set_axis(np.arange(1000, 1100))
    assert tags.tag_spots(part).index.equals(part.index)


def test_naive_times_are_refused(table):
    """A time without a zone is refused at this door too."""
    naive = table.head(3).assign(time=table["time"].head(3).dt.tz_localize(None))
    with pytest.raises(ValueError, match="no time zone"):
        tags.tag_spots(naive)


def test_no_network(table, no_network):
    """Nothing is fetched."""
    assert len(tags.tag_spots(table.head(50))) == 50


def test_a_review_has_the_summer_of_its_home(table):
    """Seen from the south, January belongs to the season of the year before, wherever the midpoint lies."""
    january = table.assign(time=pd.Timestamp("2025-01-10 22:00", tz="UTC"))
    for home_lat, season, day in ((-34.6, 2024, 20), (43.4, 2025, -162)):
        tagged = tags.tag_spots(january, home_lat=home_lat)
        known = tagged["mid_lat"].notna()
        assert tagged.loc[known, "season"].eq(season).all()
        assert tagged.loc[known, "season_day"].eq(day).all()
        assert tagged.loc[~known, "season"].isna().all()
