"""What is taken for a warning, what for its target, and that neither knows the future."""

import numpy as np
import pandas as pd

from analysis.find.signs import quarters
from analysis.find.signs.announced import BAND, BEACON, PATH, announced
from tests.find.make import tagged

HOME = {"lon": -1.0, "lat": 43.5}
DAYS = pd.date_range("2024-06-01", periods=24, freq="D", tz="UTC")


def season(lead_min=60.0):
    """A beacon heard at home before each opening of 2 m; a receiver far off hears it, too, and 6 m opens on two paths."""
    rows = []
    for number, day in enumerate(DAYS):
        noon = day + pd.Timedelta(hours=10 + number % 3)
        beacon = {"band": "6m", "tx_call": "Q5FAR/B", "tx_locator": "JO33GE", "freq_mhz": 50.41, "mode": "CW"}
        heard = noon - pd.Timedelta(minutes=lead_min)
        rows.append({"time": heard, "rx_call": "QHOME", "rx_locator": "IN93EK", **beacon})
        rows.append(
            {
                "time": heard,
                "rx_call": "QMON",
                "rx_locator": "IN78SI",
                **beacon,
                "mid_lon": 1.5,
                "mid_lat": 48.7,
            }
        )
        for call, square in (("Q6ONE", "JO21"), ("Q6TWO", "JO22")):
            on_six = {
                "band": "6m",
                "tx_call": call,
                "tx_locator": square,
                "rx_call": "QHOME",
                "rx_locator": "IN93EK",
            }
            rows.append({"time": heard + pd.Timedelta(minutes=9), **on_six})
        rows.append(
            {
                "time": noon,
                "band": "2m",
                "tx_call": "Q2DX",
                "tx_locator": "JO40",
                "rx_call": "QHOME",
                "rx_locator": "IN93EK",
            }
        )
    spots = tagged(pd.DataFrame(rows).assign(mode=lambda t: t["mode"].fillna("FT8"), distance_km=1200.0))
    two = spots["band"].astype("str") == "2m"
    spots["here"] = pd.array(np.where(two, two.cumsum(), 0), dtype="Int64")
    spots.loc[~two, "here"] = pd.NA
    start = spots.loc[two, "time"].reset_index(drop=True)
    openings = pd.DataFrame(
        {"scope": "here", "opening": np.arange(1, 25), "band": "2m", "mechanism": "ES", "start": start}
    )
    openings = openings.assign(end=start + pd.Timedelta(minutes=40), grade="confirmed", path_type="all")
    return spots, openings


def always(*stations, bands=("6m", "2m")):
    """Stations that listen round the clock."""
    rows = [
        (station, band, DAYS[0], DAYS[-1] + pd.Timedelta("1D"), "monitor")
        for station in stations
        for band in bands
    ]
    return pd.DataFrame(rows, columns=["station", "band", "start", "end", "basis"])


def found(spots, openings, listening):
    table = announced(spots, openings, listening, **HOME)
    return table[table["target"] == "opening"]


def test_every_kind_of_sign_is_followed_and_timed():
    spots, openings = season()
    table = found(spots, openings, always("QHOME", "QMON"))
    warnings = table[table["what"] == quarters.WARNING]
    told = warnings.groupby("sign")
    assert set(told.groups) == {BEACON, PATH, BAND}
    assert told["hit"].mean().min() == 1.0
    assert told["minutes"].median().to_dict() == {BEACON: 60.0, PATH: 60.0, BAND: 60.0}
    one = warnings[warnings["sign"] == BEACON].iloc[0]
    assert (one["call"], one["locator"], round(one["freq_mhz"], 2)) == ("Q5FAR/B", "JO33GE", 50.41)
    # GeographicLib: azimuth from IN93EK (43.4375 N, 1.625 W) to JO33GE (53.1875 N, 6.5417 E) is 25 degrees
    assert abs(one["heading_deg"] - 25) < 2
    onsets = table[(table["what"] == quarters.ONSET) & (table["sign"] == BEACON)]
    assert onsets["hit"].all()


def test_a_sign_counts_only_while_its_receiver_was_on():
    spots, openings = season()
    table = found(spots, openings, always("QMON"))
    assert BEACON not in set(table.loc[table["what"] == quarters.WARNING, "sign"])


def test_nothing_counts_while_the_target_could_not_have_been_noticed():
    spots, openings = season()
    table = found(spots, openings, always("QHOME", "QMON", bands=("6m",)))
    assert (table["what"] != quarters.WARNING).all()


def test_a_sign_that_comes_with_the_opening_is_no_warning():
    spots, openings = season(lead_min=5.0)
    table = found(spots, openings, always("QHOME", "QMON"))
    own = table[table["sign"] == BEACON]
    assert not own.loc[own["what"] == quarters.ONSET, "hit"].any()
    assert (own["what"] == quarters.AT_ONCE).sum() == len(DAYS)
    assert not (own["what"] == quarters.WARNING).any()


def test_what_a_report_was_called_makes_no_difference():
    """The mechanism leans on later reports, so no sign may lean on it."""
    spots, openings = season()
    listening = always("QHOME", "QMON")
    other = found(spots.assign(mechanism="MS"), openings, listening)
    pd.testing.assert_frame_equal(found(spots, openings, listening), other)


def test_without_reports_there_is_a_table_without_rows():
    spots, openings = season()
    assert announced(spots.iloc[:0], openings.iloc[:0], always(), **HOME).empty
