"""What opens from another place: clouds are shared, ducts are not, and thin evidence is refused."""

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest

from analysis.gather.problems import InputError
from analysis.plan.places import _share, compare_places, direction_series, place_series
from tests.fit.test_days import cells
from tests.fit.test_days import series as series_of

EAST_OF_HOME = {"mid_lon": 6.0, "mid_lat": 50.0}  # the cloud, about 430 km east of 0 E 50 N


def spot(time="2024-06-10T12:00", **changes):
    """One report over a 1000 km path whose middle lies 430 km east of 0 E 50 N."""
    row = {
        "time": pd.Timestamp(time, tz="UTC"),
        "band": "6m",
        "mechanism": "ES",
        "hops": 1,
        "path_type": "land",
    }
    row |= {
        "distance_km": 800.0,
        "opening": 1,
        "tx_locator": "JO70",
        "rx_locator": "JN09",
        "doubt": "",
        **EAST_OF_HOME,
    }
    return row | changes


def season(n_days=60, per_day=4, **changes):
    """Spots on the first `n_days` of two months, an opening a day, with the openings and the series."""
    days = pd.date_range("2024-05-20", periods=60, freq="D")
    rows, heads = [], []
    for number, day in enumerate(days[:n_days], start=1):
        times = [day + pd.Timedelta(hours=12, minutes=20 * k) for k in range(per_day)]
        rows += [spot(str(time), opening=number, **changes) for time in times]
        heads.append((number, times[0], times[-1]))
    openings = pd.DataFrame(heads, columns=["opening", "start", "end"])
    for name in ("start", "end"):
        openings[name] = openings[name].dt.tz_localize("UTC")
    openings = openings.assign(
        band="6m",
        mechanism="ES",
        path_type="all",
        grade="confirmed",
        duration_min=60.0,
        n_spots=per_day,
        scope="region",
        gap_min=30.0,
        max_km=800.0,
    )
    table = cells("2024-05-20", "2024-07-19", lon=6)
    table["n_detected"] = ((table["start"].dt.hour == 12) & (table["start"].dt.day_of_year % 2 == 0)).astype(
        "int64"
    )
    spots = pd.DataFrame(rows).assign(tx_call="Q1TX", rx_call=[f"Q{n % 3}RX" for n in range(len(rows))])
    return spots.assign(kind="heard"), openings, series_of(table, openings)


def test_place_and_directions_agree():
    """All openings lie east of home, so the east has them all and the other quadrants are refused."""
    spots, openings, series = season()
    home = place_series(spots, openings, series, lon=0.0, lat=50.0)
    assert home.verdict.status != "refuse"
    assert home.days["open"].sum() == 60
    parts = {one.direction: one for one in direction_series(spots, openings, series, lon=0.0, lat=50.0)}
    assert list(parts) == ["north", "east", "south", "west"]
    assert parts["east"].days["open"].sum() == 60
    assert {name for name, one in parts.items() if one.verdict.status == "refuse"} == {
        "north",
        "south",
        "west",
    }


def test_places_side_by_side():
    """Home is served every day, a place too far away is refused in words without a number."""
    spots, openings, series = season()
    table = compare_places(["JO00AA", "IM58", "jn39"], spots, openings, [series], zone="UTC", year=2025)
    assert table["locator"].tolist() == ["JO00AA", "IM58", "JN39"]
    home, far, under = (table.iloc[k] for k in range(3))
    assert home["open_share"] == 1
    assert home["low"] < 1
    assert (home["best_heading"], home["headings"]) == ("east", "east (60)")
    assert (home["n_openings"], home["n_paths"]) == (60, 1)
    assert not home["note"]
    assert "six characters" in far["note"]
    # Cape St Vincent's ocean to the west of IM58, none around JN39 near Saarbruecken (any atlas).
    assert far["sea_share"] > 0.3
    assert "west" in far["sea_headings"]
    assert under["sea_share"] < 0.05
    assert far["verdict"] == "refuse"
    assert np.isnan(far["open_share"])
    assert far["reason"] == "no reported path was bent where one from here would have to be"
    assert under["verdict"] == "refuse"  # right under the cloud: every path from there is too short
    assert table[["ground", "coast_km", "sunrise", "sunset"]].notna().all(axis=None)


def test_a_place_is_judged_by_those_who_could_have_noticed_there():
    """A receiver 10 km from home listens every day, one in the far east on half of the days: each place by its own."""
    spots, openings, series = season()
    home = pd.DataFrame(
        [{"square": "JO00", "start": series.heard["start"].min(), "end": series.heard["end"].max()}]
    )
    half = pd.Timestamp("2024-06-20", tz="UTC")
    named = {"zone": "UTC", "year": 2025}
    for square, end, days in (("JO00", home["end"].iloc[0], 60), ("JO00", half, 31), ("QM05", half, 0)):
        ears = home.assign(square=square, end=end)
        row = compare_places(["JO00AA"], spots, openings, [replace(series, ears=ears)], **named).iloc[0]
        assert abs(row["n_days"] - days) <= 1
        assert (row["verdict"] == "refuse") == (days == 0)
    assert row["reason"].startswith("nobody who could have noticed")


@pytest.mark.parametrize("candidates", [[], ["JO00"] * 11, ["JO00", "nowhere"]])
def test_bad_candidates_are_one_line(candidates):
    """None, too many, or no locator."""
    spots, openings, series = season(n_days=1)
    with pytest.raises(InputError):
        compare_places(candidates, spots, openings, [series], zone="UTC", year=2025)


def test_share_of_three_seasons_by_hand():
    """Jeffreys' half on the logit; seasons left out in turn, or the usual spread of .45 where they hardly differ."""
    counts = {2022: (10, 40), 2023: (20, 40), 2024: (30, 40)}
    days = pd.DataFrame(
        [(season, k < n) for season, (n, of) in counts.items() for k in range(of)], columns=["season", "open"]
    )
    share, low, high = _share(days)
    out = [np.log((60 - n + 0.5) / (80 - 60 + n + 0.5)) for n, _ in counts.values()]
    error = np.sqrt(2 / 3 * ((np.array(out) - np.mean(out)) ** 2).sum())
    middle = np.log(60.5 / 60.5)
    # Student's t with 4 degrees of freedom, 95 % point 2.131847 (any table)
    ends = [1 / (1 + np.exp(-(middle + sign * 2.131847 * max(error, 0.45 / np.sqrt(3))))) for sign in (-1, 1)]
    assert share == 0.5
    assert (low, high) == pytest.approx(ends, abs=1e-6)
    one = _share(days[days["season"] == 2022])
    # With one season: 2 degrees of freedom, 95 % point 2.919986 (any table)
    ends = [1 / (1 + np.exp(-(np.log(10.5 / 30.5) + sign * 2.919986 * 0.45))) for sign in (-1, 1)]
    assert one[1:] == pytest.approx(ends, abs=1e-6)
