"""Seeded regions far apart, each with patches of its own that drift over stations in clusters; truth by report."""

from __future__ import annotations

import numpy as np
import pandas as pd

from analysis.find.reach import apart_km, directions
from tests.find.make import tagged

FIRST = pd.Timestamp("2024-05-20", tz="UTC")
EARTH_KM = 6371.0
LENGTHS_KM = (650.0, 2250.0)


def region(rng, *, lon, lat, stations=40, days=40, per_day=1.2, per_hour=8.0, name="A"):
    """Reports of one region.

    Returns
    -------
    spots : DataFrame
        Tagged spots with `truth`, the number of the patch that bent the path (−1: a stray decode), and
        `region`.
    sky : DataFrame
        Where every patch was: `truth minute lon lat radius`, one row per minute.
    """
    # Towns around the middle of the region, stations around towns [km east, north].
    towns = rng.normal(0, 450, (8, 2))
    place = towns[rng.integers(0, 8, stations)] + rng.normal(0, 80, (stations, 2))
    one, other = np.triu_indices(stations, 1)
    length = np.hypot(*(place[one] - place[other]).T)
    usable = (length > LENGTHS_KM[0]) & (length < LENGTHS_KM[1])
    one, other, length = one[usable], other[usable], length[usable]
    middle = (place[one] + place[other]) / 2
    rows, truth = [], patches(rng, days=days, per_day=per_day)
    for number, patch in enumerate(truth):
        for minute in range(int(patch["start"]), int(patch["end"])):
            centre = patch["at"] + patch["km_min"] * (minute - patch["start"])
            inside = np.flatnonzero(np.hypot(*(middle - centre).T) < patch["radius"])
            n = rng.poisson(per_hour / 60) if len(inside) else 0
            rows += [(minute, path, number) for path in rng.choice(inside, n)] if n else []
    stray = rng.poisson(0.3 * days)
    rows += list(
        zip(rng.uniform(0, days * 1440, stray), rng.integers(0, len(one), stray), [-1] * stray, strict=True)
    )
    minute, path, number = (np.array(column) for column in zip(*rows, strict=True))
    path = path.astype(int)
    turn = rng.random(len(path)) < 0.5
    ends = np.where(turn, one[path], other[path]), np.where(turn, other[path], one[path])
    table = pd.DataFrame(
        {
            "time": FIRST + pd.to_timedelta(np.floor(minute.astype(float)), unit="min"),
            "tx_call": [f"Q{name}{k}TX" for k in ends[0]],
            "rx_call": [f"Q{name}{k}RX" for k in ends[1]],
            "distance_km": length[path],
            "mid_lat": lat + np.degrees(middle[path, 1] / EARTH_KM),
            "mid_lon": lon + np.degrees(middle[path, 0] / EARTH_KM / np.cos(np.radians(lat))),
        }
    )
    spots = tagged(table).assign(hops=1, truth=number.astype(int), region=name)
    return spots, _sky(truth, lon=lon, lat=lat)


def _sky(truth, *, lon, lat):
    """Place of every patch, minute by minute."""
    rows = []
    for number, patch in enumerate(truth):
        minute = np.arange(int(patch["start"]), int(patch["end"]))
        at = patch["at"] + patch["km_min"] * (minute - patch["start"])[:, None]
        rows.append(
            pd.DataFrame({"truth": number, "minute": minute, "radius": patch["radius"]}).assign(
                lon=lon + np.degrees(at[:, 0] / EARTH_KM / np.cos(np.radians(lat))),
                lat=lat + np.degrees(at[:, 1] / EARTH_KM),
            )
        )
    return pd.concat(rows, ignore_index=True)


def patches(rng, *, days, per_day):
    """Patches: start and end [min], place at the start and drift [km, km/min], radius [km]."""
    found = []
    for day in range(days):
        for _ in range(rng.poisson(per_day)):
            start = day * 1440 + (rng.choice([10.75, 18.4]) + rng.normal(0, 1.8)) * 60
            bearing = rng.uniform(0, 2 * np.pi)
            found.append(
                {
                    "start": start,
                    "end": start + np.clip(np.exp(rng.normal(np.log(60), 0.7)), 10, 400),
                    "at": rng.normal(0, 350, 2),
                    "km_min": rng.uniform(30, 100) * 0.06 * np.array([np.sin(bearing), np.cos(bearing)]),
                    "radius": rng.uniform(150, 300),
                }
            )
    return found


def two_regions(seed, **options):
    """Two regions 3 000 km apart with independent openings."""
    return two_skies(seed, **options)[0]


def two_skies(seed, **options):
    """The reports of `two_regions`, and where every patch was (`region`)."""
    rng = np.random.default_rng(seed)
    west, west_sky = region(rng, lon=-5.0, lat=47.0, name="A", **options)
    # 39.6 degrees of longitude at 47 north are 3 000 km along the ground.
    east, east_sky = region(rng, lon=34.9, lat=47.0, name="B", **options)
    east["truth"] = east["truth"].where(east["truth"] < 0, east["truth"] + 10_000)
    east_sky["truth"] += 10_000
    spots, sky = (pd.concat(pair, ignore_index=True) for pair in ((west, east), (west_sky, east_sky)))
    return spots, sky


def score_here(openings, sky, spots, *, lon, lat):
    """What is called open here beside what a station at home could have used, in ten-minute slots.

    A patch that gave three reports or more could have been used while its centre lies under the middle of a
    path of a usable length from home; nothing could while no part of any patch does. Returns `true`, hours
    of the former, `found`, the share of it called open, and `right`, the share of what is called open in
    which not nothing could.
    """
    home = directions(lon=lon, lat=lat)[0]
    away = apart_km(directions(lon=sky["lon"], lat=sky["lat"]), home)
    near, far = np.array(LENGTHS_KM) / 2
    known = sky["truth"].isin(spots["truth"].value_counts().loc[lambda n: n >= 3].index)
    slot = sky["minute"] // 10
    true = set(slot[known & (away >= near) & (away <= far)])
    could = set(slot[(away + sky["radius"] >= near) & (away - sky["radius"] <= far)])
    mine = openings[(openings["scope"] == "here") & (openings["grade"] != "single")]
    told = set()
    for first, last in mine[["start", "end"]].itertuples(index=False):
        span = [(side - FIRST).total_seconds() // 600 for side in (first, last)]
        told |= set(range(int(span[0]), int(span[1]) + 1))
    return {
        "true": len(true) / 6,
        "told": len(told) / 6,
        "found": len(true & told) / max(len(true), 1),
        "right": len(told & could) / max(len(told), 1),
    }


def score(spots, openings):
    """Merges across regions, recall of true patches with three reports or more, precision, and merges.

    A patch is found when one confirmed opening holds half of its reports or more; an opening is right when
    half of its reports or more are no strays. `merged`: openings that hold most of two patches which were
    1 000 km or more apart at one time.
    """
    firm = openings.loc[(openings["scope"] == "region") & (openings["grade"] == "confirmed"), "opening"]
    rows = spots.assign(number=spots["opening"].where(spots["opening"].isin(firm)))
    inside = rows.dropna(subset="number")
    sizes = rows[rows["truth"] >= 0].groupby("truth").size()
    held = inside[inside["truth"] >= 0].groupby(["truth", "number"]).size().groupby("truth").max()
    wanted = sizes[sizes >= 3]
    share = (held.reindex(wanted.index).fillna(0) / wanted) >= 0.5
    real = (inside["truth"] >= 0).groupby(inside["number"]).mean() >= 0.5
    return {
        "across": int((inside.groupby("number")["region"].agg(lambda own: own.ne(own.iloc[0]).any())).sum()),
        "recall": float(share.mean()),
        "precision": float(real.mean()),
        "patches": len(wanted),
        "openings": len(firm),
        "merged": _far_merges(inside),
    }


def _far_merges(inside):
    """Share of openings with two patches whose reports within half an hour lie 1 000 km apart or more."""
    n = 0
    for _, own in inside[inside["truth"] >= 0].groupby("number"):
        parts = [part for _, part in own.groupby("truth") if len(part) >= 3]
        n += any(_far(one, other) for k, one in enumerate(parts) for other in parts[:k])
    return n / max(inside["number"].nunique(), 1)


def _far(one, other):
    near = np.abs((one["time"].to_numpy()[:, None] - other["time"].to_numpy()) / np.timedelta64(30, "m")) <= 1
    if not near.any():
        return False
    points = [directions(lon=part["mid_lon"], lat=part["mid_lat"]) for part in (one, other)]
    apart = apart_km(points[0][:, None, :], points[1][None, :, :])
    return bool(np.median(apart[near]) >= 1000)
