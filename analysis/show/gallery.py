"""Every picture of a review, in the order in which the notebooks show them."""

from __future__ import annotations

from collections.abc import Iterator

from analysis.show import charts, maps
from analysis.show.picture import Picture

BANDS = ("6m", "2m")
SERIES = (("6m", "ES"), ("2m", "TR"), ("2m", "ES"))  # what an operator chases on 6 m and 2 m


def gallery(tables) -> Iterator[Picture]:
    """Draw the pictures of a review one by one.

    Parameters
    ----------
    tables : analysis.tables.Tables
        Finished tables and what they were made from.
    """
    home = tables.about.home
    yield charts.account_chart(tables.account, tables.set_aside)
    yield charts.paths_chart(tables.spots)
    for band in BANDS:
        yield charts.effort_chart(tables.listening, band=band, home=home)
        yield charts.mechanism_chart(tables.spots, band=band)
    for band, mechanism in SERIES:
        yield charts.openings_chart(tables.openings, band=band, mechanism=mechanism)
        yield charts.daily_chart(tables.daily, band=band, mechanism=mechanism)
        yield charts.season_chart(tables.season, band=band, mechanism=mechanism)
        yield charts.seasons_chart(tables.seasons, band=band, mechanism=mechanism)
        yield charts.windows_chart(tables.windows, band=band, mechanism=mechanism)
        yield maps.density_maps(tables.spots, tables.listening, band=band, mechanism=mechanism, home=home)
    yield maps.midpoint_map(tables.spots, band="6m", home=home)
    yield charts.headings_chart(tables.spots, band="6m", mechanism="ES", home=home)
    yield charts.headings_chart(tables.spots, band="2m", mechanism="TR", home=home, by="hour")
    yield charts.drift_chart(tables.patches)
    yield charts.signs_chart(tables.signs)
