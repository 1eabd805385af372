"""Ordinary ranges: learnt from most days, felt by locator size, drawn to the region where days are few."""

import numpy as np
import pandas as pd
import pytest

from analysis.tag import ordinary


def spots(days, km, **columns):
    """One signal a day that Q1RX hears of Q1TX."""
    table = pd.DataFrame({"time": pd.Timestamp("2024-05-01", tz="UTC") + pd.to_timedelta(days, unit="D")})
    usual = {"band": "2m", "tx_call": "Q1TX", "rx_call": "Q1RX", "mechanism": "TR", "doubt": ""}
    table = table.assign(**(usual | columns), distance_km=km)
    return table.assign(distance_err_km=columns.get("distance_err_km", 5.0))


def ranges(*tables):
    """Ordinary range of each station."""
    table = ordinary.ordinary_ranges(ordinary.daily_reach(pd.concat(tables, ignore_index=True)))
    return table.set_index("station")["ordinary_km"]


def test_lifts_on_a_quarter_of_days_do_not_widen_it():
    """Two hundred days between 200 and 300 km, fifty of them with 700 km: the range stays near 300."""
    rng = np.random.default_rng(1)
    km = rng.uniform(200, 300, 200)
    quiet = ranges(spots(range(200), km))["Q1RX"]
    km[::4] = 700.0
    lifted = ranges(spots(range(200), km))["Q1RX"]
    assert 300 < quiet < 340
    assert lifted < 380


def test_few_days_tell_what_the_region_tells():
    """A station of one day at 700 km is drawn to its region; unknown ones get the usual range of the band."""
    many = [spots(range(60), 250.0, rx_call=f"Q{n}RX", tx_call=f"Q{n}TX") for n in range(2, 9)]
    found = ranges(*many, spots([3], 700.0))
    assert found["Q2RX"] == pytest.approx(250, abs=20)
    assert found["Q1RX"] < 320
    nobody = spots([1], 400.0, rx_call="Q9RX", tx_call="Q9TX")
    table = ordinary.ordinary_ranges(ordinary.daily_reach(spots([3], 300.0)))
    assert ordinary.ordinary_km(nobody, table) == [ordinary.USUAL_KM["2m"]]


def test_only_what_may_come_by_scatter_counts():
    """Sporadic E, meteors, aircraft and doubtful rows do not widen a range."""
    near = spots(range(30), 250.0)
    others = [spots(range(30), 800.0, mechanism=name) for name in ("ES", "MS", "AS")]
    doubtful = spots(range(30), 800.0, doubt="heard once")
    assert ranges(near, *others, doubtful)["Q1RX"] == pytest.approx(ranges(near)["Q1RX"])


def test_tropo_begins_beyond_it():
    """Within the range, or beyond it by less than the squares' size, no tropo is claimed; no other mechanism is held back."""
    rows = spots([1] * 4, [280.0, 380.0, 380.0, 280.0], distance_err_km=[5.0, 5.0, 110.0, 5.0])
    rows = rows.assign(mechanism=["TR", "TR", "TR", "ES"], ordinary_km=300.0)
    assert ordinary.within(rows).tolist() == [True, False, True, False]
    assert not ordinary.within(rows.drop(columns="ordinary_km")).any()


def test_batches_add_up():
    """Daily reaches of two halves, the larger of each day kept, are those of the whole."""
    rng = np.random.default_rng(2)
    whole = spots(rng.integers(0, 40, 300), rng.uniform(100, 600, 300))
    halves = pd.concat([ordinary.daily_reach(whole[:150]), ordinary.daily_reach(whole[150:])])
    again = halves.groupby(["station", "band", "day"], as_index=False)["km"].max()
    pd.testing.assert_frame_equal(again, ordinary.daily_reach(whole))


def test_who_comes_on_because_it_lifts_has_no_wider_range():
    """An always-on receiver tells the lifted days; who is on mostly then is judged by the other days."""
    days = np.arange(200)
    lifted = days % 5 == 0
    always = spots(days, np.where(lifted, 500.0, 60.0), rx_call="Q1RX")
    drawn = np.r_[days[lifted], days[~lifted][:15]]
    person = spots(drawn, np.where(drawn % 5 == 0, 450.0, 170.0), rx_call="Q2RX")
    assert ranges(always, person)["Q2RX"] < 300
    alone = ranges(person)["Q2RX"]  # with nobody to tell which days those were
    assert alone > 350


def test_a_sender_heard_only_when_it_lifts_tells_nothing():
    """A beacon 300 km away that is heard on one day in five does not make 300 km ordinary."""
    near = spots(range(100), 50.0)
    far = spots(range(0, 100, 5), 300.0, tx_call="Q7BCN")
    table = ordinary.ordinary_ranges(ordinary.daily_reach(pd.concat([near, far])))
    assert (ordinary.ordinary_km(far, table) < 200).all()
