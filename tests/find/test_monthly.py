"""Rates on the maps: who was listening, for how long, and each path once per half-hour."""

import numpy as np
import pandas as pd
import pytest
from pyproj import Geod

from analysis.find import monthly
from tests.show import examples


def at(*times):
    """UTC times of 2024."""
    return pd.to_datetime([f"2024-{time}" for time in times], utc=True)


def spans(*rows, band="6m"):
    """Listening spans from (station, start, end)."""
    table = pd.DataFrame(
        [(name, band, *at(start, end)) for name, start, end in rows],
        columns=["station", "band", "start", "end"],
    )
    return table.assign(basis="monitor")


def reports(*rows):
    """Spots of 6 m sporadic E from (time, rx_call, tx_locator, rx_locator)."""
    table = pd.DataFrame(rows, columns=["time", "rx_call", "tx_locator", "rx_locator"])
    return table.assign(time=at(*table["time"]))


ALL_JUNE = spans(("Q1AAA", "06-01", "07-01"), ("Q2BBB", "06-10", "06-20"))


def test_listened_is_half_open_and_per_station():
    """The first moment of a span counts, the last does not, and another station's span never does."""
    own = spans(
        ("Q1AAA", "06-01 10:00", "06-01 11:00"),
        ("Q1AAA", "06-01 12:00", "06-01 13:00"),
        ("Q2BBB", "06-01 11:00", "06-01 12:00"),
    )
    times = ["09:59", "10:00", "10:59", "11:00", "11:30", "12:30", "13:00"]
    rows = reports(*[(f"06-01 {time}", "Q1AAA", "JO21", "IN93") for time in times])
    assert monthly.listened(rows, own).tolist() == [False, True, True, False, False, True, False]
    assert not monthly.listened(rows.assign(rx_call="Q9ZZZ"), own).any()
    early = reports(("06-01 10:30", "Q2BBB", "JO21", "IN93"))
    assert not monthly.listened(early, own).any()


def test_hours_are_split_at_the_month():
    """A span over the end of June is shared by June and July; both stations count."""
    hours = monthly.hours_by_month(
        spans(("Q1AAA", "06-30 20:00", "07-01 06:00"), ("Q2BBB", "07-01 00:00", "07-01 01:00"))
    )
    assert hours[6] == pytest.approx(4)
    assert hours[7] == pytest.approx(7)
    assert hours.sum() == pytest.approx(11)


def test_hours_of_a_month_add_up_over_years():
    """Two Junes make one month of the map."""
    two = pd.concat(
        [
            ALL_JUNE,
            ALL_JUNE.assign(
                start=ALL_JUNE["start"] + pd.DateOffset(years=1), end=ALL_JUNE["end"] + pd.DateOffset(years=1)
            ),
        ]
    )
    assert monthly.hours_by_month(two)[6] == pytest.approx(2 * (30 + 10) * 24)


def test_density_is_path_km_over_area_and_hours():
    """Counted by hand: three half-hours of one path, in 960 station-hours."""
    rows = reports(
        ("06-12 10:01", "Q1AAA", "JO21", "IN93"),
        ("06-12 10:20", "Q1AAA", "JO21", "IN93"),  # the same half-hour again
        ("06-12 10:40", "Q2BBB", "JO21", "IN93"),
        ("06-15 10:40", "Q1AAA", "JO21", "IN93"),
        ("06-15 10:41", "Q9ZZZ", "JO21", "IN93"),  # nobody knows that Q9ZZZ listened
    )
    found = monthly.monthly_density(rows, ALL_JUNE, band="6m", home="IN93")
    assert found.months == [6]
    assert found.hours == [pytest.approx((30 + 10) * 24)]
    km = Geod(ellps="WGS84").inv(5, 51.5, -1, 43.5)[2] / 1000
    total = found.cells[0].sum() * found.ground.cell_km**2 / 1000 * found.hours[0] / 1000
    # Karney (2013) as PROJ programs it; WGS84's flattening lets a mean sphere be wrong by up to 0.56 %.
    assert total == pytest.approx(3 * km, rel=0.006)
    assert found.share_used == pytest.approx(4 / 5)


def test_more_reports_by_more_listeners_are_no_higher_rate():
    """Twice the stations hearing twice as often, in twice the hours, leave the rate as it was."""
    one = reports(*[(f"06-{day:02d} 10:00", "Q1AAA", "JO21", "IN93") for day in range(1, 21)])
    two = pd.concat([one, one.assign(rx_call="Q2BBB", rx_locator="IN94")])
    spans_one = spans(("Q1AAA", "06-01", "07-01"))
    spans_two = spans(("Q1AAA", "06-01", "07-01"), ("Q2BBB", "06-01", "07-01"))
    rates = [
        monthly.monthly_density(rows, listening, band="6m", home="IN93").cells[0].sum()
        for rows, listening in ((one, spans_one), (two, spans_two))
    ]
    assert rates[1] == pytest.approx(rates[0], rel=0.1)  # the second path is a little shorter


def test_unheard_cells_are_zero_and_thin_months_left_out():
    """A month with less than 50 hours of listening gives no rate, however much was heard."""
    rows = reports(("06-12 10:00", "Q1AAA", "JO21", "IN93"), ("08-01 10:00", "Q1AAA", "JO21", "IN93"))
    listening = pd.concat([ALL_JUNE, spans(("Q1AAA", "08-01", "08-02"))])
    found = monthly.monthly_density(rows, listening, band="6m", home="IN93")
    assert found.months == [6]
    assert (found.cells[0] == 0).mean() > 0.5


def test_counts_when_nobody_listened():
    """Contacts without any listening are counted and marked as such."""
    rows = reports(("06-12 10:00", "Q1AAA", "JO21", "IN93"))
    found = monthly.monthly_density(rows, ALL_JUNE.iloc[:0], band="6m", home="IN93")
    assert (found.rate, found.hours) == (False, [])


def test_order_of_rows_does_not_matter():
    """Shuffled spots give the same map."""
    spots = examples.spots(n=800).query("band == '6m' and mechanism == 'ES'")
    maps = [
        monthly.monthly_density(rows, examples.listening(), band="6m", home="IN93").cells
        for rows in (spots, spots.sample(frac=1, random_state=1))
    ]
    for first, second in zip(*maps, strict=True):
        np.testing.assert_allclose(first, second, rtol=1e-9, atol=1e-12)
