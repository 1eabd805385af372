"""Whether the next band opens after 6 m shortens."""

import numpy as np
import pandas as pd
import pytest

from analysis.fit.signs.chain import chain_table

DAY = pd.Timestamp("2024-06-01", tz="UTC")


def chained(n=60, *, follows):
    """Openings on 6 m, one a day, short after half an hour; 2 m follows 20 min later where told."""
    season = 2018 + np.arange(n) % 6
    start = pd.to_datetime([f"{year}-06-01" for year in season], utc=True) + pd.to_timedelta(
        np.arange(n), unit="D"
    )
    place = {"scope": "region", "mechanism": "ES", "mid_lon": 2.0, "mid_lat": 46.0}
    six = pd.DataFrame(
        {"opening": range(n), "band": "6m", "start": start, "end": start + pd.Timedelta("3h")}
    ).assign(**place)
    two = six[follows].assign(band="2m", opening=range(n, n + follows.sum()))
    two = two.assign(start=two["start"] + pd.Timedelta("50min"), end=two["start"] + pd.Timedelta("80min"))
    layer = pd.DataFrame(
        {"opening": range(n), "band": "6m", "season": season, "time": start + pd.Timedelta("30min")}
    )
    return layer.assign(shortest_km=np.where(follows | (np.arange(n) % 2 == 0), 700.0, 1500.0)), pd.concat(
        [six, two]
    )


def test_two_metres_follow_a_short_skip():
    """Of 38 openings that got short 16 led on; those that stayed long led nowhere."""
    follows = np.isin(np.arange(60) % 8, (0, 3))
    row = chain_table(*chained(follows=follows)).query("upper == '2m' and skip_km == 800").iloc[0]
    assert (row["n"], row["n_led"], row["lead_min"]) == (38, 16, 20)
    assert row["low"] < 16 / 38 < row["high"]
    assert row["chance_longer"] == 0


def test_a_band_that_is_open_already_is_no_forecast():
    """2 m on before the skip grew short is left out; far away it counts for nothing."""
    layer, openings = chained(follows=np.ones(60, bool))
    early = openings["band"] == "2m"
    before = openings.assign(start=openings["start"].where(~early, openings["start"] - pd.Timedelta("40min")))
    assert chain_table(layer, before).query("upper == '2m' and skip_km == 800")["n"].iloc[0] == 0
    away = openings.assign(mid_lon=np.where(early, 40.0, 2.0))
    assert chain_table(layer, away).query("upper == '2m' and skip_km == 800")["n_led"].iloc[0] == 0


@pytest.mark.parametrize("upper", ["4m", "2m"])
def test_silent_bands_are_told_so(upper):
    """Without an opening of the upper band there is a reason and no chance."""
    layer, openings = chained(follows=np.zeros(60, bool))
    rows = chain_table(layer, openings).query("upper == @upper")
    assert set(rows["verdict"]) == {"refuse"}
    assert rows["chance"].isna().all()
