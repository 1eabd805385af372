"""Beam headings: from home's end of the path, half-hours not reports."""

import numpy as np
import pandas as pd

from analysis.show import charts
from analysis.show.charts.headings import bearings_from, heading_counts
from analysis.tag.paths import pair_table
from tests.show import examples


def pairs(*rows):
    """Table of locator pairs."""
    return pd.DataFrame(rows, columns=["tx_locator", "rx_locator"])


def test_bearing_is_taken_at_home_whoever_transmits():
    """IN93 to JO21 and JO21 to IN93 are one heading; a path elsewhere has none."""
    found = bearings_from(
        pair_table(pairs(("JO21", "IN93"), ("IN93", "JO21"), ("JO21", "JN18"))), home="IN93"
    )
    assert np.isclose(found[0], found[1])
    # Bearing of a great circle on a sphere (common practice, no source); the ellipsoid turns it by 0.2 degrees.
    lat1, lat2, turn = np.radians([43.5, 51.5, 6.0])
    hand = np.degrees(
        np.arctan2(
            np.sin(turn) * np.cos(lat2),
            np.cos(lat1) * np.sin(lat2) - np.sin(lat1) * np.cos(lat2) * np.cos(turn),
        )
    )
    assert abs(found[0] - hand) < 0.3
    assert np.isnan(found[2])


def test_north_is_one_sector():
    """Bearings of 355 and 5 degrees fall together; the report is counted once per half-hour."""
    spots = examples.spots(n=3).assign(tx_locator=["IO83", "JO03", "JO03"], rx_locator="IN93")
    spots["time"] = pd.to_datetime(["2024-06-01 10:01", "2024-06-01 10:20", "2024-07-01 10:00"], utc=True)
    counts = heading_counts(spots, home="IN93", by="month")
    assert counts.loc[6].to_dict()[0.0] == 1
    assert counts.to_numpy().sum() == 2


def test_hours_are_solar_blocks():
    """14:58 by the Sun at home, which is four minutes behind UTC there, belongs to 12-15 h."""
    spots = examples.spots(n=1).assign(tx_locator="JO21", rx_locator="IN93")
    spots["time"] = pd.to_datetime(["2024-06-01 15:02"], utc=True)
    assert heading_counts(spots, home="IN93", by="hour").index.to_list() == [12]


def test_too_few_is_words():
    """Nobody near home, or no month with enough: no rose."""
    picture = charts.headings_chart(examples.spots(), band="6m", mechanism="ES", home="RE78")
    assert not picture.figure.axes
    few = examples.spots(n=90)
    assert heading_counts(few.query("mechanism == 'ES'"), home="IN93", by="month").to_numpy().sum() >= 20
    assert not charts.headings_chart(few, band="6m", mechanism="ES", home="IN93").figure.axes


def test_roses_draw_areas():
    """A petal's length is the root of its half-hours, so that its area is what counts."""
    picture = charts.headings_chart(examples.spots(), band="6m", mechanism="ES", home="IN93")
    chosen = examples.spots().query("band == '6m' and mechanism == 'ES'")
    counts = heading_counts(chosen, home="IN93", by="month")
    counts = counts[counts.sum(axis=1) >= 20]
    lengths = [
        [bar.get_height() for bar in axes.patches] for axes in picture.figure.axes if axes.get_visible()
    ]
    np.testing.assert_allclose(np.square(lengths), counts.to_numpy())


def test_petals_are_shares_of_what_was_listened_to():
    """Twice the listening at the same catch halves a petal; where nobody near listened, half-hours are drawn."""
    about = {"band": "6m", "mechanism": "ES", "home": "IN93"}
    spots = examples.spots().assign(rx_call="QH1RR", rx_locator="IN93")
    start, end = spots["time"].min().floor("D"), spots["time"].max().ceil("D")
    near = pd.DataFrame(
        {"station": ["QH1RR"], "band": "6m", "start": [start], "end": [end], "basis": "monitor"}
    )
    once = charts.headings_chart(spots, near, **about)
    longer = near.assign(start=start - (end - start))
    heights = [
        np.square(
            [bar.get_height() for axes in one.figure.axes if axes.get_visible() for bar in axes.patches]
        )
        for one in (once, charts.headings_chart(spots, longer, **about, by="hour"))
    ]
    assert 0 < heights[0].max() <= 1
    assert "Share of the half-hours listened to" in once.caption
    twice = charts.headings_chart(spots, near, **about, by="hour")
    drawn = np.square(
        [bar.get_height() for axes in twice.figure.axes if axes.get_visible() for bar in axes.patches]
    )
    np.testing.assert_allclose(heights[1], drawn / 2, rtol=0.02)
    assert charts.headings_chart(spots, near.assign(station="QZ9ZZ"), **about).caption.startswith(
        "Half-hours heard"
    )
