"""Seeded seasons with known truth at the level of single spots: when the band was open, who listened.

Openings come in clusters: their daily number is Poisson with a season, a lasting day effect and two
times of day; lengths are log-normal with median 60 minutes. Stations listen in sessions, more in the
evening and at weekends, and some switch on because the band has opened.
"""

from __future__ import annotations

import numpy as np
import pandas as pd

from analysis.find import intervals
from tests.find.make import tagged

FIRST = pd.Timestamp("2024-05-01", tz="UTC")
FALSE_PER_SLOT = 3e-4  # stray decodes per station and ten minutes


def true_openings(rng, *, days=120, per_day=1.6):
    """Start and end [min from the first day] of disjoint openings of one region."""
    level = np.zeros(days)
    for day in range(1, days):
        level[day] = 0.65 * level[day - 1] + rng.normal(0, 0.9 * np.sqrt(1 - 0.65**2))
    season = np.exp(-0.5 * ((np.arange(days) - 52) / 30) ** 2)
    count = rng.poisson(per_day * season * np.exp(level - 0.9**2 / 2))
    day = np.repeat(np.arange(days), count)
    hour = np.where(
        rng.random(len(day)) < 0.5, rng.normal(10.75, 1.8, len(day)), rng.normal(18.4, 2.0, len(day))
    )
    start = day * 1440 + hour * 60
    return joined(start, start + np.exp(rng.normal(np.log(60), 0.7, len(day))))


def joined(start, end):
    """Spans with overlaps joined, as an (n, 2) array."""
    order = np.argsort(start)
    start, end = start[order], np.maximum.accumulate(end[order])
    fresh = np.append(True, start[1:] > end[:-1]) if len(start) else np.zeros(0, bool)
    first = np.flatnonzero(fresh)
    return (
        np.column_stack([start[first], end[np.append(first[1:] - 1, len(end) - 1)]])
        if len(first)
        else np.empty((0, 2))
    )


def opening_spots(rng, truth, *, per_hour, stations=14, days=120):
    """Sporadic-E spots at a mean rate while open, unequal stations, and stray decodes at any time."""
    weight = np.exp(rng.normal(0, 0.6, stations))
    length = (truth[:, 1] - truth[:, 0]).sum()
    # Activity swings: nobody reports evenly through an opening.
    swing = np.exp(rng.normal(0, 0.6, len(truth)) - 0.18)
    count = rng.poisson(per_hour / 60 * (truth[:, 1] - truth[:, 0]) * swing) if length else np.empty(0, int)
    which = np.repeat(np.arange(len(truth)), count)
    minute = truth[which, 0] + rng.random(len(which)) * (truth[which, 1] - truth[which, 0])
    stray = rng.uniform(0, days * 1440, rng.poisson(FALSE_PER_SLOT * stations * days * 144))
    receiver = np.concatenate(
        [
            rng.choice(stations, len(minute), p=weight / weight.sum()),
            rng.integers(0, stations, len(stray)),
        ]
    )
    minute = np.concatenate([minute, stray])
    names = [f"Q{n}RX" for n in range(stations)]
    calls = [f"Q{n}TX" for n in range(40)]
    rows = {
        "time": FIRST + pd.to_timedelta(np.floor(minute), unit="min"),
        "rx_call": np.array(names)[receiver],
        "tx_call": np.array(calls)[rng.integers(0, 40, len(minute))],
        "distance_km": rng.uniform(900, 2100, len(minute)),
    }
    return tagged(rows)


def score(table, truth):
    """Recall of openings of 30 min or more, precision, splits and hours against the truth."""
    start = intervals.minutes(table["start"]) - intervals.minutes(pd.Series([FIRST]))[0]
    end = intervals.minutes(table["end"]) - intervals.minutes(pd.Series([FIRST]))[0]
    meets = (start[:, None] <= truth[None, :, 1]) & (end[:, None] >= truth[None, :, 0])
    shared = np.minimum(end[:, None], truth[None, :, 1]) - np.maximum(start[:, None], truth[None, :, 0])
    inside = np.where(meets, shared, 0).sum(axis=1)
    right = meets.any(axis=1) & (inside >= 0.5 * (end - start))
    long = truth[:, 1] - truth[:, 0] >= 30
    hits = meets.sum(axis=0)[long]
    return {
        "recall": (hits > 0).mean(),
        "precision": right.mean() if len(right) else np.nan,
        "split": (hits > 1).mean(),
        "hours": table["duration_min"].sum() / (truth[:, 1] - truth[:, 0]).sum(),
    }


def sessions(rng, truth, *, stations=14, days=60, monitors=0):
    """Who listens when: bool array (stations, minutes)."""
    minutes = days * 1440
    hour = np.arange(minutes) / 60 % 24
    weekend = (np.arange(minutes) // 1440 + FIRST.day_of_week) % 7 >= 5
    wish = (
        0.25
        + np.exp(-0.5 * ((hour - 19) / 2.5) ** 2) * 1.5
        + np.where(weekend & (hour > 7) & (hour < 22), 0.6, 0)
    )
    wish[hour < 6] *= 0.2
    opened = np.zeros(minutes, bool)
    for start, end in truth:
        opened[max(int(start), 0) : int(min(start + 30, end))] = True
    wish = wish * np.where(opened, 1.8, 1.0)
    on = np.zeros((stations, minutes), bool)
    for station in range(stations):
        if station < monitors:
            on[station] = True
            continue
        eager = np.exp(rng.normal(0, 0.5)) * 1.2 / 1440
        begins = np.flatnonzero(rng.random(minutes) < eager * wish)
        for begin, length in zip(begins, np.exp(rng.normal(np.log(100), 0.7, len(begins))), strict=True):
            on[station, begin : begin + int(length)] = True
    return on


def heard_spots(rng, on, truth, *, digital, background_per_h=(6.0, 0.7), es_per_h=(12.0, 1.5)):
    """Background and sporadic-E receptions of listening stations, digital ones far more than voice."""
    stations, minutes = on.shape
    quick = np.arange(stations) < round(digital * stations)
    opened = np.zeros(minutes, bool)
    for start, end in truth:
        opened[max(int(start), 0) : int(max(end, 0))] = True
    rows = []
    for rates, mechanism, when in (
        (background_per_h, "LOS", np.ones(minutes, bool)),
        (es_per_h, "ES", opened),
    ):
        rate = np.where(quick, *rates)[:, None] / 60
        station, minute = np.nonzero((rng.random(on.shape) < rate) & on & when)
        rows.append(pd.DataFrame({"station": station, "minute": minute, "mechanism": mechanism}))
    table = pd.concat(rows, ignore_index=True)
    return tagged(
        pd.DataFrame(
            {
                "time": FIRST + pd.to_timedelta(table["minute"], unit="min"),
                "rx_call": [f"Q{n}RX" for n in table["station"]],
                "tx_call": [f"Q{n}TX" for n in rng.integers(0, 30, len(table))],
                "mechanism": table["mechanism"],
                "distance_km": np.where(table["mechanism"] == "LOS", 60.0, 1500.0),
            }
        )
    )


def told(listening, on):
    """What a listening table says, in the shape of the truth."""
    zero = intervals.minutes(pd.Series([FIRST]))[0]
    said = np.zeros_like(on)
    for row in listening.itertuples():
        first, past = (intervals.minutes(pd.Series([side]))[0] - zero for side in (row.start, row.end))
        said[int(row.station[1:-2]), max(int(first), 0) : max(int(past), 0)] = True
    return said


def as_listening(on):
    """The truth in the shape of a listening table."""
    edges = np.diff(np.pad(on.astype(int), ((0, 0), (1, 1))), axis=1)
    (station, start), (_, end) = np.nonzero(edges == 1), np.nonzero(edges == -1)
    zero = intervals.minutes(pd.Series([FIRST]))[0]
    table = pd.DataFrame({"station": [f"Q{n}RX" for n in station], "band": "6m"})
    return table.assign(
        start=intervals.times(zero + start), end=intervals.times(zero + end), basis="receptions"
    )


def drifting_patch(rng, *, speed_ms, toward_deg=290.0, radius_km=150.0, minutes=90, paths=400, uneven=True):
    """Spots of one opening: every minute some of the paths whose midpoint lies in a drifting disc.

    Stations live in clusters (`uneven`), so midpoints are thick in some places and thin in others.
    """
    if uneven:
        towns = rng.uniform(-700, 700, (12, 2))
        place = towns[rng.choice(12, paths, p=rng.dirichlet(np.ones(12)))] + rng.normal(0, 200, (paths, 2))
    else:
        place = rng.uniform(-800, 800, (paths, 2))
    heading = np.array([np.sin(np.radians(toward_deg)), np.cos(np.radians(toward_deg))])
    found = []
    for minute in range(minutes):
        centre = heading * speed_ms * 0.06 * (minute - minutes / 2)
        inside = np.flatnonzero(np.hypot(*(place - centre).T) < radius_km)
        heard = rng.choice(inside, rng.poisson(len(inside) / 20)) if len(inside) else inside
        found += [(minute, path) for path in heard]
    minute, path = np.array(found).reshape(-1, 2).T
    east, north = place[path].T
    spots = tagged(
        {
            "time": FIRST + pd.to_timedelta(minute, unit="min"),
            "tx_call": [f"Q{number}TX" for number in path],
            "mid_lat": 47 + np.degrees(north / 6371),
            "mid_lon": np.degrees(east / 6371 / np.cos(np.radians(47))),
        }
    )
    return spots.assign(opening=1, hops=1, distance_err_km=0.0)
