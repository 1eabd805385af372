"""Every picture of a review, in the order in which the notebooks show them."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from analysis.show import charts
from analysis.show.charts.picture import Picture
from analysis.show.maps import density
from analysis.show.wording import words

SERIES = (("6m", "ES"), ("2m", "TR"), ("2m", "ES"))  # what an operator chases on 6 m and 2 m
MOST = 6


def chased(tables, mechanism: str = "") -> list[dict[str, Any]]:
    """Series worth a picture, as `band` and `mechanism`, the usual three of 6 m and 2 m in front.

    Parameters
    ----------
    tables : analysis.tables.Tables
        Finished tables.
    mechanism : str, optional
        Only this one, "ES" or "TR".

    Returns
    -------
    list of dict
        At most six that have an opening, else that have a report, else the usual ones: never empty.
    """
    known = {"ES", "TR"} & ({mechanism} if mechanism else {"ES", "TR"})
    usual = [pair for pair in SERIES if pair[1] in known]
    found: list[tuple[str, str]] = []
    for table in (tables.openings, tables.spots):
        found = found or [pair for pair in pairs(table) if pair[1] in known]
    return [{"band": band, "mechanism": how} for band, how in (found or usual)[:MOST]]


def pairs(table) -> list[tuple[str, str]]:
    """Distinct `band mechanism` of a table: the usual ones in front, then from the longest wave on."""
    rows = table[["band", "mechanism"]].astype(str).drop_duplicates()
    found = list(rows.itertuples(index=False, name=None))
    others = [(band, how) for band in words.bands({band for band, _ in found}) for how in ("ES", "TR")]
    return [pair for pair in dict.fromkeys((*SERIES, *others, *found)) if pair in found]


def gallery(tables, *, width: str = "full") -> Iterator[Picture]:
    """Draw the pictures of a review one by one.

    Parameters
    ----------
    tables : analysis.tables.Tables
        Finished tables and what they were made from.
    width : str
        "full", "column" or "slide".
    """
    home, series = tables.about.home, chased(tables)
    look: dict[str, Any] = {"width": width}
    yield charts.account_chart(tables.account, tables.set_aside, **look)
    yield charts.paths_chart(tables.spots, **look)
    for band in dict.fromkeys(one["band"] for one in series):
        yield charts.effort_chart(tables.listening, band=band, home=home, **look)
        yield charts.mechanism_chart(tables.spots, band=band, **look)
    for one in series:
        yield charts.openings_chart(tables.openings, **one, **look)
        yield charts.daily_chart(tables.daily, tables.estimates, **one, **look)
        yield charts.season_chart(tables.season, tables.estimates, **one, **look)
        yield charts.seasons_chart(tables.seasons, **one, **look)
        yield charts.windows_chart(tables.windows, **one, **look)
        yield density.density_maps(tables.spots, tables.listening, **one, home=home, **look)
    sporadic_e, tropo = chased(tables, "ES")[0], chased(tables, "TR")[0]
    yield density.midpoint_map(tables.spots, **sporadic_e, home=home, **look)
    yield charts.headings_chart(tables.spots, tables.listening, **sporadic_e, home=home, **look)
    yield charts.headings_chart(tables.spots, tables.listening, **tropo, home=home, by="hour", **look)
    yield charts.drift_chart(tables.patches, **look)
    yield charts.leads_chart(tables.leads, **look)
    yield charts.indicators_chart(tables.indicators, **look)
    yield charts.rungs_chart(tables.rungs, **look)
    yield charts.voice_chart(tables.voice_levels, **look)
    yield charts.layer_chart(tables.muf, tables.chain, **look)
    yield charts.forecasts_chart(tables.forecasts, tables.forecast_levels, **look)
    yield charts.climatology_chart(tables.published, **sporadic_e, home=home, **look)
    yield charts.two_seasons_chart(tables.compared, **series[0], **look)
    for one, direction in ((sporadic_e, "all"), (tropo, "land"), (tropo, "sea")):
        yield charts.reliability_chart(tables.reliability, **one, direction=direction, **look)


NARROW_COLOURS = 32  # as in the menus of the page


def narrow_pngs(tables) -> dict[str, bytes]:
    """Alt text and PNG of the pictures that stand first in the chapters, drawn for a narrow screen."""
    return {one.alt: one.png(colours=NARROW_COLOURS) for one in _first_pictures(tables, width="column")}


def _first_pictures(tables, *, width: str) -> Iterator[Picture]:
    """The pictures that stand first in the chapters; parameters as for `gallery`."""
    one, look = chased(tables)[0], {"width": width}
    band, lead = one["band"], pairs(tables.leads)[:1]
    spots = tables.spots[tables.spots["band"] == band]
    yield charts.account_chart(tables.account, tables.set_aside, **look)
    yield charts.paths_chart(spots, **look)
    yield charts.mechanism_chart(tables.spots, band=band, **look)
    yield charts.daily_chart(tables.daily, tables.estimates, **one, **look)
    yield charts.season_chart(tables.season, tables.estimates, **one, **look)
    yield density.density_maps(tables.spots, tables.listening, **one, home=tables.about.home, **look)
    for name, how in lead:
        rows = (tables.leads["band"] == name) & (tables.leads["mechanism"] == how)
        yield charts.leads_chart(tables.leads[rows], **look)
    yield charts.windows_chart(tables.windows, **one, **look)
