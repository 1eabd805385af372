"""Opening days, counted in one place.

An opening day is a local day at home's longitude on which somebody was known to listen and an opening of
half an hour or more was open in the scope. Somebody is known to listen on a day when listeners of the
scope cover a quarter of it or more; where nobody is ever known to have listened (contacts alone), every
day with such an opening counts, and no day counts as shut.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, dataclass

import numpy as np
import pandas as pd

from analysis.find import intervals
from analysis.find.hearers import listeners
from analysis.find.reach import HERE, NEIGHBOURS, REGION
from analysis.tag.sun import season_of

LEAST_MIN = 30.0  # an opening of that length makes a day
LISTENED_H = 6.0  # a quarter of a day; a day heard for less is known by its luck only
WITHIN = {REGION: (REGION, HERE, NEIGHBOURS), HERE: (HERE, NEIGHBOURS), NEIGHBOURS: (NEIGHBOURS,)}
GRADES = ("confirmed", "probable")  # the stronger first
COLUMNS = {
    "scope": "str",
    "band": "str",
    "mechanism": "str",
    "path_type": "str",
    "day": "datetime64[us]",
    "season": "int64",
    "season_day": "int64",
    "listened_h": "float64",
    "listened": "bool",
    "open": "bool",
    "opened_min": "float64",
    "first": "datetime64[us, UTC]",
    "last": "datetime64[us, UTC]",
    "max_km": "float64",
    "grade": "str",
    "n_openings": "int64",
}


@dataclass(frozen=True, kw_only=True)
class Key:
    """One series in one scope; path type `all` takes openings over any ground."""

    scope: str = REGION
    band: str
    mechanism: str
    path_type: str = "all"


def series_days(
    openings: pd.DataFrame,
    heard: pd.DataFrame,
    key: Key,
    *,
    lon: float,
    lat: float,
    of_day: float = 1.0,
) -> pd.DataFrame:
    """Every local day of one series in one scope.

    Parameters
    ----------
    openings : DataFrame
        As `openings.find_openings` returns them; those of the series and of scopes within this one count,
        single reports do not.
    heard : DataFrame
        `start end`: when somebody of the scope listened (`hearers.listeners`), and nothing else.
    key : Key
        Series and scope.
    lon, lat : float
        Home: whose mean solar day is a day, and whose season is the season [degrees east, north].
    of_day : float
        Part of the day that counts, where openings and listening are cut to some hours of it.

    Returns
    -------
    DataFrame
        `COLUMNS`, one row per day from the first to the last with listening or an opening. `listened_h`
        hours that somebody listened and `listened`, whether they are a quarter of what counts of the day;
        `open`: it is an opening day; `opened_min` minutes open, `first last max_km grade n_openings` of
        the openings that day, whether or not they make it one.
    """
    mine = openings[openings["scope"].isin(WITHIN[key.scope]) & openings["grade"].isin(GRADES)]
    mine = mine[(mine["band"] == key.band) & (mine["mechanism"] == key.mechanism)]
    if key.path_type != "all":
        mine = mine[mine["path_type"] == key.path_type]
    hours = _hours_by_day(heard, lon=lon)
    opened = _opened_by_day(mine, lon=lon)
    reached = [index for index in (hours.index, opened.index) if len(index)]
    days = np.arange(min(map(min, reached)), max(map(max, reached)) + 1) if reached else np.empty(0, int)
    table = opened.reindex(days)
    table["listened_h"] = hours.reindex(days).fillna(0.0)
    table["listened"] = table["listened_h"] >= LISTENED_H * of_day
    counts = table["listened"] | (not table["listened"].any())
    table["open"] = (table["longest"] >= LEAST_MIN) & counts
    table = table.fillna({"opened_min": 0.0, "n_openings": 0, "grade": ""})
    table["day"] = intervals.times(days * 1440.0).dt.tz_localize(None).to_numpy()
    noon = intervals.times(days * 1440 + 720 - 4 * lon)
    table[["season", "season_day"]] = season_of(noon, lat=lat)[["season", "season_day"]].to_numpy()
    return table.assign(**asdict(key)).reset_index(drop=True).astype(COLUMNS)[list(COLUMNS)]


def days_table(
    openings: pd.DataFrame,
    spots: pd.DataFrame,
    listening: pd.DataFrame,
    *,
    series: Sequence[tuple[str, str, str]],
    lon: float,
    lat: float,
) -> pd.DataFrame:
    """`series_days` of every series in every scope, one below the other.

    Parameters
    ----------
    openings, spots, listening : DataFrame
    series : list of (band, mechanism, path_type)
    lon, lat : float
        Home [degrees east, north].
    """
    heard: dict[tuple[str, str], dict[str, pd.DataFrame]] = {}
    tables = []
    for band, mechanism, path_type in series:
        if (band, mechanism) not in heard:
            found = listeners(spots, listening, band=band, mechanism=mechanism, lon=lon, lat=lat)
            heard[band, mechanism] = found
        for scope, spans in heard[band, mechanism].items():
            key = Key(scope=scope, band=band, mechanism=mechanism, path_type=path_type)
            tables.append(series_days(openings, spans, key, lon=lon, lat=lat))
    return pd.concat(tables, ignore_index=True) if tables else pd.DataFrame(columns=COLUMNS).astype(COLUMNS)  # type: ignore[call-overload]


def cell_days(cells: pd.DataFrame) -> pd.DataFrame:
    """Days of a series known by its half-hours alone, as an ionosonde's or a simulated one.

    Parameters
    ----------
    cells : DataFrame
        `start season season_day n_listening n_detected`.

    Returns
    -------
    DataFrame
        `season season_day listened_h listened open opened_min`, one row per season day with a listener; a
        day is open when one of its half-hours that were listened to is.
    """
    on = cells["n_listening"] > 0
    table = cells[["season", "season_day"]].assign(on=on, hit=on & (cells["n_detected"] > 0))
    days = table[on].groupby(["season", "season_day"])[["on", "hit"]].sum().reset_index()
    days["listened_h"], days["opened_min"] = days["on"] / 2, days["hit"] * 30.0
    days["listened"] = days["listened_h"] >= LISTENED_H
    return days.assign(open=days["listened"] & (days["hit"] > 0)).drop(columns=["on", "hit"])


def of_series(days: pd.DataFrame, **keys: str) -> pd.DataFrame:
    """The rows of one series, by `scope`, `band`, `mechanism`, `path_type`."""
    return days[(days[list(keys)] == keys).all(axis=1)].reset_index(drop=True)


def _hours_by_day(heard: pd.DataFrame, *, lon: float) -> pd.Series:
    """Hours listened to by number of the local day since 1970."""
    shift = pd.Timedelta(minutes=round(lon * 4))
    local = heard.assign(station="", band="", start=heard["start"] + shift, end=heard["end"] + shift)
    return intervals.per_day(local[intervals.COLUMNS]).set_index("day")["hours"]


def _opened_by_day(openings: pd.DataFrame, *, lon: float) -> pd.DataFrame:
    """Minutes open, the longest stretch and what stands behind them, by number of the local day since 1970."""
    first, last = (intervals.minutes(openings[side]) for side in ("start", "end"))
    spare = (
        openings["duration_min"].fillna(0).to_numpy(dtype=float) - (last - first)
    ) / 2  # what sampling missed
    begin, end = first - spare + 4 * lon, last + spare + 4 * lon
    number = np.floor(end / 1440).astype(int) - np.floor(begin / 1440).astype(int) + 1
    row = np.repeat(np.arange(len(openings)), number)
    day = (
        np.floor(begin / 1440).astype(int)[row]
        + np.arange(len(row))
        - np.repeat(np.cumsum(number) - number, number)
    )
    pieces = pd.DataFrame(
        {
            "day": day,
            "begin": np.maximum(begin[row], day * 1440.0),
            "end": np.minimum(end[row], (day + 1) * 1440.0),
            "first": np.maximum(first[row], day * 1440.0 - 4 * lon),
            "last": np.minimum(last[row], (day + 1) * 1440.0 - 4 * lon),
            "max_km": openings["max_km"].to_numpy(dtype=float)[row],
            "rank": openings["grade"]
            .map({grade: n for n, grade in enumerate(GRADES)})
            .to_numpy(dtype=float)[row],
            "own": (openings["scope"] == _widest(openings)).to_numpy()[row],
        }
    ).sort_values(["day", "begin"], ignore_index=True)
    pieces = pieces[pieces["end"] > pieces["begin"]]
    reached = pieces.groupby("day")["end"].cummax().groupby(pieces["day"]).shift()
    pieces["stretch"] = (~(pieces["begin"] <= reached)).cumsum()
    stretches = pieces.groupby("stretch").agg(
        day=("day", "first"), begin=("begin", "min"), end=("end", "max")
    )
    length = (stretches["end"] - stretches["begin"]).groupby(stretches["day"])
    days = pieces.groupby("day")
    return pd.DataFrame(
        {
            "opened_min": length.sum(),
            "longest": length.max(),
            "first": intervals.times(days["first"].min()),
            "last": intervals.times(days["last"].max()),
            "max_km": days["max_km"].max(),
            "grade": days["rank"].min().map(dict(enumerate(GRADES))).astype("str"),
            "n_openings": days["own"].sum(),
        }
    )


def _widest(openings: pd.DataFrame) -> str:
    """The widest scope among the openings: its rows are counted, those of narrower ones are views of them."""
    return next((scope for scope in WITHIN if (openings["scope"] == scope).any()), REGION)
