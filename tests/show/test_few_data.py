"""Titles when data are few: nothing is called most, best or typical of a handful."""

import pandas as pd

from analysis.show import charts
from analysis.show.maps import density
from tests.show import examples

SERIES = {"band": "6m", "mechanism": "ES", "home": "IN93"}


def june(n):
    """Reports of sporadic E on 6 m of one day in June, one every four minutes."""
    spots = examples.spots().query("band == '6m' and mechanism == 'ES'").iloc[:n].copy()
    spots["time"] = pd.Timestamp("2024-06-10 08:00", tz="UTC") + pd.to_timedelta(range(n), unit="min") * 4
    return spots.assign(rx_locator="IN93")


def test_mechanisms_of_a_handful_are_not_weighed():
    """Of 13 reports beyond 500 km no share is stated, in the title or in the panel."""
    few = examples.spots().query("band == '6m' and distance_km >= 500").iloc[:13]
    picture = charts.mechanism_chart(few, band="6m")
    assert "only 13\u00a0reports beyond 500 km: too few" in picture.title
    assert "%" not in picture.title
    assert any("fewer than 20" in text.get_text() for text in picture.figure.axes[1].texts)


def test_the_only_month_is_not_the_busiest():
    """One month of counts, or of headings, is compared with no other."""
    spots = june(60)
    counts = density.density_maps(spots, examples.listening().iloc[:0], **SERIES)
    assert counts.title == "Sporadic E on 6 m: the paths of June (counts; nobody's listening is known)"
    # All of one day: 8 half-hours by up to 16 sectors.
    headings = charts.headings_chart(june(200), **SERIES)
    assert headings.figure.axes
    assert "most in" not in headings.title


def test_a_place_seen_once_is_not_where_it_was_seen_most():
    """With fewer than six half-hours in the busiest cell no place is named."""
    few, many = (density.midpoint_map(june(n), band="6m", home="IN93") for n in (10, 400))
    assert "too seldom" in few.title
    assert "most often over" in many.title


def test_nothing_lost_is_not_a_percentage():
    """A file without a lost row is told as such."""
    account = examples.account().iloc[:1].assign(kept=1200, set_aside=0, duplicates=0)
    assert charts.account_chart(account, examples.set_aside().iloc[:0]).title.startswith("All 1,200 rows")
