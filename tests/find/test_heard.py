"""The beacon keeper's record."""

import numpy as np
import pandas as pd
import pytest

from analysis.find.signs.heard import beacons_heard, listening_days, station_days
from tests.find.make import at, tagged

BEACON = "Q1BCN/B"


def days_heard(days, *, call=BEACON, km=80.0, station="Q1RX", **columns):
    """One report at noon of each day."""
    parts = [at([720], day=day, tx_call=call, rx_call=station, distance_km=km, **columns) for day in days]
    return pd.concat(parts, ignore_index=True)


def dates(first, n):
    """Days in a row."""
    return pd.date_range(first, periods=n, freq="D").strftime("%Y-%m-%d")


def test_record_by_hand():
    """Twelve days near and one far away, with a silence of a week between."""
    near = days_heard(
        [*dates("2024-05-01", 6), *dates("2024-05-14", 6)], tx_locator="IN53", rx_locator="IN63"
    )
    far = days_heard(["2024-05-03"], km=1800.0, station="Q2RX", tx_locator="IN53", rx_locator="JO53")
    spots = tagged(pd.concat([near.assign(mechanism="LOS"), far.assign(mechanism="ES")]))
    row = beacons_heard(spots).iloc[0]
    assert (row["days_heard"], row["n_listeners"], row["longest_silence_days"]) == (12, 2, 7)
    assert (row["farthest_km"], row["farthest_mechanism"], row["best_bearing"]) == (1800, "ES", "NE")
    assert row["mechanisms"] == "LOS 12 ES 1"
    assert row["drift_reason"]


def test_a_listed_beacon_that_nobody_heard_has_a_line():
    """It is in the list with nothing heard, not left out."""
    listed = pd.DataFrame({"call": ["Q9BCN"], "locator": ["IN53"], "freq_mhz": [50.4]})
    spots = tagged(days_heard(["2024-05-01"]))
    table = beacons_heard(spots, beacons=listed).set_index("call")
    assert table.loc["Q9BCN", "n_reports"] == 0
    assert table.loc[BEACON, "n_reports"] == 1


def test_days_on_the_band_are_told_by_other_signals():
    """Heard on 15 days; on five more others were heard and it was not; on two nobody was there."""
    own = days_heard(dates("2024-05-01", 15))
    others = days_heard(dates("2024-05-01", 20), call="Q5TX")
    late = days_heard(["2024-05-23"], call="Q5TX")
    table = listening_days(station_days(tagged(pd.concat([own, others, late]))), call=BEACON, band="6m")
    assert table["Q1RX"].tolist() == pytest.approx([1.0] * 15 + [0.0] * 5 + [np.nan] * 2 + [0.0], nan_ok=True)


def test_who_hears_it_by_openings_only_is_no_regular():
    """A far receiver's silence says that the band was shut, not that the beacon was off."""
    far = pd.concat(
        [days_heard(dates("2024-05-01", 30), km=1500.0), days_heard(dates("2024-05-01", 30), call="Q5TX")]
    )
    assert listening_days(station_days(tagged(far)), call=BEACON, band="6m").empty


def test_drift_of_a_fine_frequency():
    """Thirty hertz a month up, read to the hertz."""
    rows = days_heard(dates("2024-05-01", 60))
    rows["freq_mhz"] = 50.413007 + np.arange(60) * 1e-6
    row = beacons_heard(tagged(rows)).iloc[0]
    assert row["drift_low"] <= row["drift_hz_month"] <= row["drift_high"]
    assert row["drift_hz_month"] == pytest.approx(30.44, abs=0.5)
