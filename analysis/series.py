"""Which series a review speaks of: every band, mechanism and path type as half-hour cells."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import product
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analysis.find.cells import Clock, calendar, half_hours, reference_point, series_rows
from analysis.find.days import of_series
from analysis.find.hearers import ears, heard_at
from analysis.find.listening import evidence_tier, monitors_suffice
from analysis.find.on_air import watch
from analysis.find.reach import HERE, REGION
from analysis.find.watched import (
    Watch,
    over,
    proven_share,
    seen_paths,
    steady_paths,
    thinned,
    usable_paths,
    watched_paths,
)
from analysis.fit.assess import seasons_covered
from analysis.fit.estimate import Series
from analysis.fit.model.paths import DETECTED_NEEDED, mostly_noticed

VHF_BANDS = ("8m", "6m", "5m", "4m", "2m", "1.25m", "70cm", "33cm", "23cm")
PATH_TYPES = {"ES": ["all"], "TR": ["land", "mixed", "sea"]}  # the ground matters to tropo only
AXES = {"ES": "solar", "TR": "sun"}
PROVEN_NEEDED = 1 / 3  # of the paths reported, with both ends known to have been on the air
# Watched at once on average, for a scope narrower than the region: of one or two paths nothing is left to be
# taken away, so what watching buys cannot be learnt. In the demo, chances here came out five times too large
# with 1.8 (2 m over sea) and right with 5 and more (judgement between the two).
PATHS_NEEDED = 4.0
NEARLY_ALL = 0.9  # of all watched paths were watched in every season: no comparison of their own
STEADY_SHARE = 0.25  # of the time that the busiest monitor ran: a receiver ran in a season with more
UNNOTICED = (
    "most openings would have gone unnoticed on the paths watched, so receivers alone were counted and the "
    "level is rather too low"
)
UNPROVEN = (
    "other reports show that both ends were on the air for only {detected} half-hours and {share:.0%} of the "
    "paths reported (needed: {needed} and a third), so hours without senders look like hours without openings"
)


def vhf_series(
    spots: pd.DataFrame,
    listening: pd.DataFrame,
    *,
    beacons: pd.DataFrame | None = None,
    scope: str = REGION,
    lon: float = np.nan,
    lat: float = np.nan,
) -> list[Series]:
    """Half-hour cells of every band, mechanism and path type that the spots can speak of.

    Parameters
    ----------
    spots : DataFrame
        Tagged spots.
    listening : DataFrame
        `station band start end basis`.
    beacons : DataFrame, optional
        `call locator freq_mhz`: senders that always run.
    scope : str
        One of `find.reach.SCOPES`: whose paths count; `here` and `neighbours` ask for the place. Where too
        few of these were watched, a series counts those of the region.
    lon, lat : float
        The place [degrees east, north].

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
    place = {"scope": scope, "lon": lon, "lat": lat}
    found = []
    for band, mechanism in product([band for band in VHF_BANDS if heard.get(band, 0)], PATH_TYPES):
        about = {"band": band, "mechanism": mechanism}
        seen = watch(spots, listening, beacons=beacons, **about)
        for path_type in PATH_TYPES[mechanism]:
            part = over(seen, path_type)
            found.append(_series(spots, listening, part, place, path_type=path_type, **about))
    return found


def _series(
    spots: pd.DataFrame,
    listening: pd.DataFrame,
    seen: Watch,
    place: dict[str, Any],
    **keys: Any,
) -> Series:
    """By watched paths where enough of what was reported came over such, else by who listened."""
    tier = evidence_tier(listening, band=keys["band"])
    if tier == "C" or not len(seen.sightings):
        return _by_listening(spots, listening, seen, tier=tier, **keys)
    for scope in dict.fromkeys([place["scope"], REGION]):
        about = {name: keys[name] for name in ("mechanism", "path_type")}
        ways = usable_paths(seen, **about, **(place | {"scope": scope}))
        detected, share = int((seen_paths(seen, ways) > 0).sum()), proven_share(seen, ways)
        enough = scope == REGION or _at_once(seen, ways) >= PATHS_NEEDED
        if detected >= DETECTED_NEEDED and share >= PROVEN_NEEDED and enough:
            watched = _by_paths(spots, listening, seen, ways, tier=tier, scope=scope, **keys)
            if keys["mechanism"] != "TR" or mostly_noticed(watched.fit):
                return watched
            unproven = UNNOTICED  # ducts carry single paths: what one misses another need not see
            return _by_listening(spots, listening, seen, tier=tier, unproven=unproven, **keys)
    unproven = UNPROVEN.format(detected=detected, share=np.nan_to_num(share), needed=DETECTED_NEEDED)
    return _by_listening(spots, listening, seen, tier=tier, unproven=unproven, **keys)


def _at_once(seen: Watch, ways: NDArray) -> float:
    """Mean number of watched paths in the half-hours that have any."""
    n = watched_paths(seen, ways)
    return float(n[n > 0].mean()) if (n > 0).any() else 0.0


def _by_paths(
    spots: pd.DataFrame,
    listening: pd.DataFrame,
    seen: Watch,
    ways: NDArray,
    *,
    tier: str,
    scope: str,
    **keys: Any,
) -> Series:
    """Cells that count watched paths, and those watched in every season where they are not nearly all."""
    axis = AXES[keys["mechanism"]]
    lon, lat = reference_point(spots, **keys)
    days = calendar(seen.starts, axis=axis, lon=lon, lat=lat)
    n_watched = watched_paths(seen, ways)
    season = _joined(days["season"].to_numpy(), n_watched > 0)
    always = steady_paths(seen, ways, season=season)
    n_steady = watched_paths(seen, always)
    compared: dict[str, Any] = {}
    if n_steady.sum() < NEARLY_ALL * n_watched.sum():
        steady = days.assign(n_listening=n_steady, n_detected=seen_paths(seen, always))
        compared = {"steady": steady, "steady_thinned": thinned(seen, always)}
    if tier == "A" and keys["mechanism"] == "TR":
        compared["even"] = half_hours(spots, listening, clock=Clock(axis=axis, lon=lon, lat=lat), **keys)
    return Series(
        **keys,
        axis=axis,
        tier=tier,
        scope=scope,
        cells=days.assign(n_listening=n_watched, n_detected=seen_paths(seen, ways)),
        thinned=thinned(seen, ways),
        senders=_senders(spots, seen, ways, season, **keys),
        **compared,
    )


def _by_listening(
    spots: pd.DataFrame, listening: pd.DataFrame, seen: Watch, *, tier: str, unproven: str = "", **keys: Any
) -> Series:
    """Cells that count who listened, and those of the receivers that ran in every season."""
    band, axis = keys["band"], AXES[keys["mechanism"]]
    if tier == "A" and not monitors_suffice(series_rows(spots, **keys), listening, band=band):
        tier = "B"  # the others are counted too, and they came and went
    cells = half_hours(spots, listening, clock=Clock(axis=axis), **keys)
    about: dict[str, Any] = {"axis": axis, "tier": tier, "cells": cells, "unproven": unproven}
    if len(cells) == len(seen.starts):  # none without a place that the hours refer to
        season = _joined(cells["season"].to_numpy(), (cells["n_listening"] > 0).to_numpy())
        usable = np.ones((len(seen.squares),) * 2, dtype=bool)
        about["senders"] = _senders(spots, seen, usable, season, **keys)
    passing = passing_monitors(listening, cells, band=band) if tier == "A" else []
    if passing:
        kept = listening[(listening["band"] != band) | ~listening["station"].isin(passing)]
        about["steady"] = half_hours(spots, kept, clock=Clock(axis=axis), monitors_only=True, **keys)
    return Series(**keys, **about)


def _joined(season: NDArray, listened: NDArray) -> NDArray:
    """Seasons, with the few days of one at the ends of the data counted with their neighbour."""
    covered = seasons_covered(pd.Series(season[listened]))
    if not len(covered):
        return season
    return covered[np.minimum(np.searchsorted(covered, season), len(covered) - 1)]


def _senders(spots: pd.DataFrame, seen: Watch, usable: NDArray, season: NDArray, **keys: Any) -> pd.DataFrame:
    """What may grow of the effort of senders, by season.

    Columns `heard`, different senders reported by the series, and `half_hours`, of squares with a sender
    proven on at a distance from which the series is reported.
    """
    rows = series_rows(spots, **keys)
    at = np.searchsorted(seen.starts, pd.DatetimeIndex(rows["time"]), side="right") - 1
    heard = pd.Series(rows["tx_call"].astype("str").to_numpy()).groupby(season[at]).nunique()
    on = np.asarray(seen.senders[:, usable.any(axis=0)].sum(axis=1)).ravel()
    table = pd.DataFrame({"heard": heard, "half_hours": pd.Series(on).groupby(season).sum()})
    return table.reindex(np.unique(season)).fillna(0)


def series_names(spots: pd.DataFrame, openings: pd.DataFrame | None = None) -> list[tuple[str, str, str]]:
    """Band, mechanism and path type of every series that the spots can speak of, tropo also over any ground.

    With the openings, whatever else opened stands at the end, over any ground.
    """
    heard = spots["band"].value_counts()
    names = [
        (band, mechanism, path_type)
        for band in VHF_BANDS
        if heard.get(band, 0)
        for mechanism, path_types in PATH_TYPES.items()
        for path_type in dict.fromkeys(["all", *path_types])
    ]
    if openings is not None:
        pairs = openings[["band", "mechanism"]].drop_duplicates().sort_values(["band", "mechanism"])
        names += [(band, mechanism, "all") for band, mechanism in pairs.itertuples(index=False, name=None)]
    return list(dict.fromkeys(names))


def with_days(
    series: Sequence[Series],
    days: pd.DataFrame,
    spots: pd.DataFrame,
    listening: pd.DataFrame,
    *,
    lon: float,
    lat: float,
) -> list[Series]:
    """The same series with their opening days, and when somebody of their scope listened.

    Parameters
    ----------
    series : list of Series
        As `vhf_series` makes them.
    days : DataFrame
        As `find.days.days_table` makes it.
    spots, listening : DataFrame
    lon, lat : float
        Home [degrees east, north].

    Returns
    -------
    list of Series
        Each with `by_day`, its rows of `days`, in which `open` and `listened` say what may be counted.

    Examples
    --------
    >>> from analysis import open_tables, vhf_series, with_days
    >>> season = open_tables(None)  # the demo; the folder of your own review's tables in its place
    >>> spots = season.spots[season.spots["band"] == "6m"]
    >>> home = {"lon": -1.0, "lat": 43.5}
    >>> series = with_days(vhf_series(spots, season.listening), season.days, spots, season.listening, **home)
    >>> bool(series[0].days["open"].any())
    True

    Notes
    -----
    Contacts alone carry no chance, so nothing is gained by the region: their days are those here.
    """
    known: dict[tuple[str, str], pd.DataFrame] = {}
    found = []
    for one in series:
        pair = one.band, one.mechanism
        if pair not in known:
            known[pair] = ears(spots, listening, band=one.band, mechanism=one.mechanism)
        scope = HERE if one.tier == "C" else one.scope
        heard = heard_at(known[pair], scope=scope, mechanism=one.mechanism, lon=lon, lat=lat)
        own = of_series(days, scope=scope, **one.keys())
        about: dict[str, Any] = {"by_day": own, "heard": heard, "ears": known[pair]}
        found.append(replace(one, scope=scope, lon=lon, lat=lat, **about))
    return found


def with_scope(table: pd.DataFrame, series: Sequence[Series], *, by: str = "path_type") -> pd.DataFrame:
    """A table of several series with the `scope` of each before its other columns."""
    scopes = {(one.band, one.mechanism, one.path_type): one.scope for one in series}
    keys = table[["band", "mechanism", by]].itertuples(index=False, name=None)
    scope = pd.Series([scopes[key] for key in keys], index=table.index, dtype="str")
    return pd.concat([scope.rename("scope"), table], axis=1)


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
