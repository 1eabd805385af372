"""Which receivers ran in every season, so that seasons may be compared by them."""

import numpy as np
import pandas as pd

from analysis.find.listening import find_listening
from analysis.fit.estimate import Series
from analysis.series import _joined, passing_monitors, series_names, vhf_series, with_days, with_scope
from tests.find.make import at, locals_every, together


def day(text):
    return pd.Timestamp(text, tz="UTC").as_unit("us")


def listening(*rows):
    """Monitor spans of stations on 6 m."""
    table = pd.DataFrame(rows, columns=["station", "start", "end"])
    table = table.assign(band="6m", basis="monitor")
    return table.assign(start=table["start"].map(day), end=table["end"].map(day))


def cells():
    """Two seasons of half-hours, parted at the winter solstice."""
    start = pd.Series(pd.date_range("2021-05-01", "2022-09-01", freq="30min", tz="UTC", unit="us"))
    return pd.DataFrame({"start": start, "season": 2021 + (start >= day("2021-12-21")).astype("int64")})


def test_receivers_that_join_or_leave_are_passing():
    """One runs in both summers, one only in the second, one leaves after a week of it."""
    spans = listening(
        ("Q1STAY", "2021-05-01", "2021-08-31"),
        ("Q1STAY", "2022-05-01", "2022-08-31"),
        ("Q2JOIN", "2022-05-01", "2022-08-31"),
        ("Q3LEFT", "2021-05-01", "2021-08-31"),
        ("Q3LEFT", "2022-05-01", "2022-05-08"),
        ("Q4LONG", "2021-06-01", "2022-08-01"),
    )
    assert passing_monitors(spans, cells(), band="6m") == ["Q2JOIN", "Q3LEFT"]
    assert passing_monitors(spans, cells(), band="2m") == []
    assert passing_monitors(spans.iloc[:0], cells(), band="6m") == []


def test_a_season_in_which_no_receiver_ran_ends_no_run():
    """The first season has no monitor at all: whoever runs in the second is steady."""
    assert passing_monitors(listening(("Q2JOIN", "2022-05-01", "2022-08-31")), cells(), band="6m") == []


def afternoons(senders_heard):
    """Ten weeks of afternoons of one receiver, a far sender most days; its sender proven by tropo, or not."""
    ends = {"tx_locator": "JO20", "rx_locator": "IN93", "rx_call": "Q5RX"}
    local = locals_every(15, start="2024-05-20", days=70, station="Q5RX")
    local = local[local["time"].dt.hour.between(12, 19)].assign(tx_locator="IN93", rx_locator="IN93")
    days = pd.date_range("2024-05-20", periods=70).strftime("%Y-%m-%d")
    es = [at([800, 830], day=day, mechanism="ES", tx_call="Q2FAR", **ends) for day in days]
    tr = [at(range(720, 1200, 30), day=day, mechanism="TR", tx_call="Q2FAR", **ends) for day in days]
    return together(local, *es, *(tr if senders_heard else []))


def es_of(spots):
    found = vhf_series(spots, find_listening(spots))
    return next(one for one in found if one.mechanism == "ES")


def test_unproven_senders_are_refused_in_words():
    """People listen when they like and nobody knows when senders were on: no chance, but the days stay."""
    one = es_of(afternoons(senders_heard=False))
    assert (one.tier, one.thinned) == ("B", None)
    assert one.fit.verdict.status == "refuse"
    assert "both ends were on the air for only 0 half-hours and 0% of the paths" in one.fit.verdict.reason
    assert (one.cells["n_listening"] > 0).sum() > 500


def test_proven_senders_make_watched_paths():
    """The same reports, with the sender heard by tropo all afternoon: one path is watched."""
    one = es_of(afternoons(senders_heard=True))
    assert one.thinned is not None
    assert one.cells["n_listening"].max() == 1
    assert (one.cells["n_detected"] > 0).sum() == 140
    assert one.senders["heard"].tolist() == [1]


def test_the_stub_of_a_season_goes_with_its_neighbour():
    """Ten days at a year's end are no season of their own."""
    season = np.r_[np.full(300, 2023), np.full(310, 2024), np.full(10, 2025)]
    np.testing.assert_array_equal(_joined(season, np.ones(620, bool)), np.minimum(season, 2024))


def test_series_have_names_and_tropo_one_over_any_ground():
    """Tropo is counted over any ground too; what else opened stands at the end."""
    spots = pd.DataFrame({"band": ["2m", "2m", "10m"]})
    opened = pd.DataFrame({"band": ["10m", "2m"], "mechanism": ["ES", "AUR"]})
    names = series_names(spots, opened)
    assert names[:5] == [
        ("2m", "ES", "all"),
        *(("2m", "TR", ground) for ground in ("all", "land", "mixed", "sea")),
    ]
    assert names[5:] == [("10m", "ES", "all"), ("2m", "AUR", "all")]
    assert series_names(spots) == names[:5]


def test_tables_and_days_bear_the_scope_of_their_series():
    """The rows of a scope's days go with its series, and a table of several says whose each row is."""
    spots = pd.DataFrame({"rx_call": ["Q1RX"], "rx_locator": ["IN93"], "band": ["6m"], "mechanism": ["ES"]})
    spots = spots.assign(distance_km=1500.0, kind="heard", doubt="", time=[day("2024-06-10")])
    days = pd.DataFrame(
        {
            "scope": ["here", "region"],
            "band": "6m",
            "mechanism": "ES",
            "path_type": "all",
            "open": [False, True],
        }
    )
    one = Series("6m", "ES", "all", "solar", "B", pd.DataFrame(), scope="region")
    heard = listening(("Q1RX", "2024-06-10", "2024-06-11"))
    told = with_days([one], days, spots, heard, lon=-1.0, lat=43.5)
    assert told[0].days["open"].tolist() == [True]
    assert len(told[0].heard) == 1
    table = with_scope(pd.DataFrame({"band": ["6m"], "mechanism": ["ES"], "path_type": ["all"]}), told)
    assert table["scope"].tolist() == ["region"]
    # Contacts alone carry no chance: their days are those here.
    contacts = Series("6m", "ES", "all", "solar", "C", pd.DataFrame(), scope="region")
    assert with_days([contacts], days, spots, heard, lon=-1.0, lat=43.5)[0].scope == "here"
