"""Which series a review speaks of: every band, mechanism and path type as half-hour cells."""

from __future__ import annotations

from typing import Any

import pandas as pd

from analysis.find.cells import half_hours
from analysis.find.listening import evidence_tier
from analysis.fit.estimate import Series

VHF_BANDS = ("8m", "6m", "5m", "4m", "2m", "1.25m", "70cm", "33cm", "23cm")
PATH_TYPES = {"ES": ["all"], "TR": ["land", "mixed", "sea"]}  # the ground matters to tropo only
AXES = {"ES": "solar", "TR": "sun"}


STEADY_SHARE = 0.25  # of the time that the busiest monitor ran: a receiver ran in a season with more


def vhf_series(spots: pd.DataFrame, listening: pd.DataFrame) -> list[Series]:
    """Half-hour cells of every band, mechanism and path type that the spots can speak of.

    Parameters
    ----------
    spots : DataFrame
        Tagged spots.
    listening : DataFrame
        `station band start end basis`.

    Returns
    -------
    list of Series
        Sporadic E of each VHF band, and tropo over land, mixed and sea, each with its evidence tier.

    Examples
    --------
    >>> from analysis import open_tables, vhf_series
    >>> season = open_tables(None)  # the demo; the folder of your own review's tables in its place
    >>> spots = season.spots[season.spots["band"] == "2m"]
    >>> [(one.mechanism, one.path_type) for one in vhf_series(spots, season.listening)]
    [('ES', 'all'), ('TR', 'land'), ('TR', 'mixed'), ('TR', 'sea')]
    """
    heard = spots["band"].value_counts()
    return [
        _series(spots, listening, band=band, mechanism=mechanism, path_type=path_type)
        for band in VHF_BANDS
        if heard.get(band, 0)
        for mechanism, path_types in PATH_TYPES.items()
        for path_type in path_types
    ]


def _series(spots: pd.DataFrame, listening: pd.DataFrame, **keys: Any) -> Series:
    band, axis = keys["band"], AXES[keys["mechanism"]]
    tier = evidence_tier(listening, band=band)
    cells = half_hours(spots, listening, axis=axis, **keys)
    own = spots[(spots["band"] == band) & (spots["doubt"] == "")]
    senders = own.groupby("season")["tx_call"].nunique()
    passing = passing_monitors(listening, cells, band=band) if tier == "A" else []
    if not passing:
        return Series(**keys, axis=axis, tier=tier, cells=cells, senders=senders)
    kept = listening[(listening["band"] != band) | ~listening["station"].isin(passing)]
    steady = half_hours(spots, kept, axis=axis, monitors_only=True, **keys)
    return Series(**keys, axis=axis, tier=tier, cells=cells, steady=steady, senders=senders)


def passing_monitors(listening: pd.DataFrame, cells: pd.DataFrame, *, band: str) -> list[str]:
    """Monitors of a band that did not run in every season: seasons cannot be compared by them.

    Parameters
    ----------
    listening : DataFrame
        `station band start end basis`.
    cells : DataFrame
        Half-hours of a series of the band; they say when seasons begin and end.
    """
    always = listening[(listening["band"] == band) & (listening["basis"] == "monitor")]
    seasons = cells.groupby("season")["start"].agg(["min", "max"])
    ran = {}
    for season, (first, last) in zip(seasons.index, seasons.to_numpy(), strict=True):
        spans = always["end"].clip(upper=last) - always["start"].clip(lower=first)
        ran[season] = spans.dt.total_seconds().clip(lower=0).groupby(always["station"].astype("str")).sum()
    hours = pd.DataFrame(ran)
    hours = hours.loc[:, hours.max() > 0]
    return hours.index[(hours < STEADY_SHARE * hours.max()).any(axis=1)].to_list()
