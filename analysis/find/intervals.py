"""Spans of time per station and band: built from single reports, overlaid, cut, measured.

A span is half-open, [start, end). Inside this room times are minutes since 1970 as plain floats,
so that a whole season is sorted and summed at once.
"""

from __future__ import annotations

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike

EPOCH = pd.Timestamp(0, tz="UTC")  # definition
KEYS = ["station", "band"]
COLUMNS = [*KEYS, "start", "end"]


def minutes(times: pd.Series) -> np.ndarray:
    """Minutes since 1970 of UTC times, as floats (NaN where the time is missing)."""
    if not len(times):
        return np.empty(0)
    # Via total_seconds: pandas keeps microseconds here and nanoseconds there, so no integer casts.
    return ((times - EPOCH).dt.total_seconds() / 60).to_numpy(dtype=float)


def times(values: pd.Series | np.ndarray) -> pd.Series:
    """UTC times of minutes since 1970, to the microsecond; a Series keeps its index."""
    whole = (pd.Series(values, dtype=float) * 60e6).round().astype("int64")
    return pd.Series(pd.to_datetime(whole, unit="us", utc=True)).astype("datetime64[us, UTC]")


def empty(*extra: str) -> pd.DataFrame:
    """A table of spans without rows."""
    table = pd.DataFrame({"station": pd.Series(dtype="str"), "band": pd.Series(dtype="str")})
    table["start"] = table["end"] = pd.Series(dtype="datetime64[us, UTC]")
    return table.assign(**{name: pd.Series(dtype="str") for name in extra})


def spans(points: pd.DataFrame, *, gap_min: ArrayLike, pad_min: ArrayLike) -> pd.DataFrame:
    """Join reports that follow one another closely into spans.

    Parameters
    ----------
    points : DataFrame
        `station band time`, in any order.
    gap_min : float or array
        Longest silence before a point inside one span [min].
    pad_min : float or array
        What is added before the first and after the last report [min].

    Returns
    -------
    DataFrame
        `station band start end`, sorted; spans closer than twice the pad are one.
    """
    if points.empty:
        return empty()
    table = pd.DataFrame(
        {
            "station": points["station"].astype("str").to_numpy(),
            "band": points["band"].astype("str").to_numpy(),
            "minute": minutes(points["time"]),
            "gap": np.maximum(gap_min, 2 * np.asarray(pad_min)),
            "pad": pad_min,
        }
    ).sort_values([*KEYS, "minute"])
    fresh = _new_key(table) | (np.diff(table["minute"], prepend=-np.inf) > table["gap"])
    run = np.cumsum(fresh)
    runs = table.groupby(run).agg(
        station=("station", "first"),
        band=("band", "first"),
        first=("minute", "first"),
        last=("minute", "last"),
        pad=("pad", "first"),
    )
    ends = {"start": times(runs["first"] - runs["pad"]), "end": times(runs["last"] + runs["pad"])}
    return runs[KEYS].assign(**ends).reset_index(drop=True)


def overlay(**layers: pd.DataFrame) -> pd.DataFrame:
    """Cut several tables of spans at each other's edges.

    Parameters
    ----------
    **layers : DataFrame
        Tables with `station band start end`; spans of one layer may overlap.

    Returns
    -------
    DataFrame
        `station band start end` and one bool column per layer: pieces that do not overlap, each
        covered by at least one layer, neighbours with the same cover joined; sorted.
    """
    names = list(layers)
    table = pd.concat([one[COLUMNS] for one in layers.values()], ignore_index=True)
    if table.empty:
        return empty().assign(**{name: pd.Series(dtype=bool) for name in names})
    layer = np.repeat(np.arange(len(names)), [len(one) for one in layers.values()])
    table[KEYS] = table[KEYS].astype("str")
    owner = table.groupby(KEYS).ngroup().to_numpy()
    key, minute = np.tile(owner, 2), np.concatenate([minutes(table["start"]), minutes(table["end"])])
    steps = np.zeros((len(key), len(names)), dtype=int)
    steps[np.arange(len(key)), np.tile(layer, 2)] = np.repeat([1, -1], len(table))
    order = np.lexsort((minute, key))
    key, minute = key[order], minute[order]
    # Every span opens and closes within its own key, so the running sum is back at zero for the next.
    cover = np.cumsum(steps[order], axis=0) > 0
    last = np.append((np.diff(key) != 0) | (np.diff(minute) != 0), True)  # of several edges at one moment
    key, minute, cover = key[last], minute[last], cover[last]
    code = cover @ (1 << np.arange(len(names)))
    starts = np.flatnonzero(np.append(True, (np.diff(key) != 0) | (np.diff(code) != 0)))
    ends = np.append(starts[1:], len(key) - 1)
    starts, ends = starts[code[starts] > 0], ends[code[starts] > 0]
    pieces = table[KEYS].groupby(owner).first().loc[key[starts]].reset_index(drop=True)
    pieces["start"], pieces["end"] = times(minute[starts]), times(minute[ends])
    return pieces.assign(**{name: cover[starts, column] for column, name in enumerate(names)})


def union(*tables: pd.DataFrame) -> pd.DataFrame:
    """All spans of several tables, overlaps joined: `station band start end`."""
    return overlay(any=pd.concat([table[COLUMNS] for table in tables], ignore_index=True))[COLUMNS]


def per_day(table: pd.DataFrame) -> pd.DataFrame:
    """Hours covered per station, band and UTC day.

    Returns
    -------
    DataFrame
        `station band day hours`; `day` counts days since 1970, days without cover are absent.
    """
    start, end = minutes(table["start"]) / 1440, minutes(table["end"]) / 1440
    first, last = np.floor(start).astype(int), np.ceil(end).astype(int)
    length = last - first
    row = np.repeat(np.arange(len(table)), length)
    day = first[row] + np.arange(length.sum()) - np.repeat(np.cumsum(length) - length, length)
    hours = 24 * (np.minimum(end[row], day + 1) - np.maximum(start[row], day))
    days = table[KEYS].iloc[row].assign(day=day, hours=hours)
    return days.groupby([*KEYS, "day"])["hours"].sum().reset_index()


def _new_key(table: pd.DataFrame) -> np.ndarray:
    """Where a sorted table comes to another station or band."""
    return (table[KEYS] != table[KEYS].shift()).any(axis=1).to_numpy()
