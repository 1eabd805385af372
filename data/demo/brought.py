"""What the club knows beside its reports: noted indices, the weather of the day, soundings, heights, two neighbours.

Everything follows from the half-hours that were truly open and a stream of chance of its own; which of it is
worth anything is written beside the other truth.
"""

from __future__ import annotations

import json
from pathlib import Path

import files
import numpy as np
import pandas as pd

LEADS = (1, 3, 6)
FORGETS = 0.35  # of the noted index' error for each day ahead
PAIR = {"QF6HIL": ("IN93FK", 3.0), "QF6VAL": ("IN93GL", -3.0)}  # square, and dB beside their mean
BEACON = ("QF6LPB/B", "IN93KD")
BEACON_MHZ = {144.412: 6.0, 50.412: 2.0}  # and its strength [dB]
EVENINGS, REPORTS = 12, 36
CELL, WEST, SOUTH, SIDE = 0.01, -1.9, 43.1, 60
RIDGE_LAT, RIDGE_M = 43.44, 280
LEVELS = (0, 60, 150, 250, 350, 500, 800, 1500, 3000)
TRUTH = {
    "forecasts": {
        "noted_index": "skill, less of it with every day ahead",
        "calendar_index": "no skill: the season and luck",
    },
    "weather": {
        "pressure": "goes with tropo on 2 m",
        "temperature": "shares the season only",
        "thunder": "nothing",
        "warm front": "nothing",
    },
    "neighbours": {"QF6HIL over QF6VAL, dB": 6.0},
    "soundings": {"a duct on days with tropo": 0.75, "on other days": 0.08},
}


def write(folder: Path, half_hours: pd.DataFrame, *, rng: np.random.Generator) -> None:
    """Write the folder `evidence`, and its truth."""
    (folder / "evidence").mkdir(parents=True, exist_ok=True)
    days = open_days(half_hours)
    tables = {
        "noted_index.csv.gz": _noted(days, rng, calendar=False),
        "calendar_index.csv.gz": _noted(days, rng, calendar=True),
        "weather.csv": _weather(days, rng),
        "soundings.csv.gz": _soundings(days[days["day"].dt.year == days["day"].dt.year.max()], rng),
        "neighbour_spots.csv.gz": _neighbours(days, rng),
    }
    for name, table in tables.items():
        files._table(folder / "evidence" / name, table)
    files._text(folder / "evidence" / "heights.asc", _heights())
    files._text(folder / "truth" / "evidence.json", json.dumps(TRUTH, indent=2) + "\n")


def open_days(half_hours: pd.DataFrame) -> pd.DataFrame:
    """Share of each day's half-hours with tropo on 2 m, March to October: `day share`."""
    tropo = half_hours[["land2", "sea2"]].max(axis=1)
    share = tropo.groupby(half_hours["time"].dt.floor("D").dt.tz_localize(None)).mean()
    table = share.rename_axis("day").rename("share").reset_index()
    return table[table["day"].dt.month.between(3, 10)].reset_index(drop=True)


def _noted(days: pd.DataFrame, rng: np.random.Generator, *, calendar: bool) -> pd.DataFrame:
    """An index from 0 to 10 for days ahead, of the day itself or of what is usual in its month."""
    sky = np.sqrt(days["share"].to_numpy())
    if calendar:
        sky = pd.Series(sky).groupby(days["day"].dt.month).transform("mean").to_numpy()
    parts = []
    for lead in LEADS:
        error = rng.normal(size=len(days)) * (0.12 + FORGETS * lead / 6)
        index = np.clip(np.rint(10 * (sky + error)), 0, 10).astype(int)
        issued = days["day"] - pd.Timedelta(days=lead)
        parts.append(pd.DataFrame({"day issued": issued, "day meant": days["day"], "index": index}))
    return pd.concat(parts).sort_values(["day issued", "day meant"], ignore_index=True)


def _weather(days: pd.DataFrame, rng: np.random.Generator) -> pd.DataFrame:
    """Pressure that rises with tropo; warmth that only shares the season; thunder and fronts that share nothing."""
    n, sky = len(days), np.sqrt(days["share"].to_numpy())
    warm = np.cos(2 * np.pi * (days["day"].dt.day_of_year.to_numpy() - 205) / 365)
    return pd.DataFrame(
        {
            "date": days["day"],
            "pressure hPa": np.round(1012 + 14 * sky + rng.normal(0, 4, n), 1),
            "temperature C": np.round(16 + 7 * warm + rng.normal(0, 3, n), 1),
            "thunder": np.where(rng.random(n) < 0.06 * (1 + warm), "yes", "no"),
            "warm front": np.where(rng.random(n) < 0.12, "yes", "no"),
        }
    )


def _soundings(days: pd.DataFrame, rng: np.random.Generator) -> pd.DataFrame:
    """Noon soundings: an inversion with dry air above on most days with tropo, and on a few others."""
    height = np.array(LEVELS)
    chance = np.where(days["share"] > 0, TRUTH["soundings"]["a duct on days with tropo"], 0.08)
    parts = []
    for day, duct in zip(days["day"], rng.random(len(days)) < chance, strict=True):
        warmer = np.where(height >= 250, 7.0, 0.0) * duct + rng.normal(0, 0.2)
        wet = np.where((height >= 250) & duct, 30, 70 - 20 * (height > 1000)) + rng.normal(0, 2)
        rows = {"time": f"{day:%Y-%m-%d} 12:00", "height m": height}
        rows |= {
            "temperature C": np.round(16 - 6.5e-3 * height + warmer, 1),
            "humidity %": np.round(wet).astype(int),
        }
        parts.append(pd.DataFrame(rows))
    return pd.concat(parts, ignore_index=True)


def _neighbours(days: pd.DataFrame, rng: np.random.Generator) -> pd.DataFrame:
    """Two stations on the same beacons on some evenings of the last June, one on a hill."""
    june = days.loc[days["day"].dt.month == 6, "day"]
    evenings = june[june.dt.year == june.dt.year.max()].iloc[::2].head(EVENINGS)
    parts = []
    for evening in evenings:
        time = evening + pd.Timedelta("19h") + pd.to_timedelta(np.arange(REPORTS) * 3, unit="min")
        for mhz, strength in BEACON_MHZ.items():
            fading = strength + rng.normal(0, 5, REPORTS) + rng.normal(0, 2)
            for call, (own, gain) in PAIR.items():
                snr = np.rint(fading + gain + rng.normal(0, 2, REPORTS)).astype(int)
                rows = {
                    "utc": time.strftime("%Y-%m-%dT%H:%M:%SZ"),
                    "call heard": BEACON[0],
                    "square heard": BEACON[1],
                }
                rows |= {"MHz": mhz, "mode": "CW", "SNR dB": snr, "heard by": call, "listener square": own}
                parts.append(pd.DataFrame(rows)[snr >= -11])
    return pd.concat(parts).sort_values(["utc", "MHz", "heard by"], ignore_index=True)


def _heights() -> str:
    """A made-up coast: sea in the north, a plain, and a ridge on which one of the neighbours lives, as an ASCII grid."""
    north = SOUTH + CELL * (SIDE - 0.5 - np.arange(SIDE))
    across = np.where(north > 43.55, 0, 40 + RIDGE_M * np.exp(-(((north - RIDGE_LAT) / 0.015) ** 2)))
    rows = "\n".join(" ".join([f"{height:.0f}"] * SIDE) for height in across)
    head = {"ncols": SIDE, "nrows": SIDE, "xllcorner": WEST, "yllcorner": SOUTH, "cellsize": CELL}
    return (
        "\n".join(f"{name} {value}" for name, value in (head | {"NODATA_value": -9999}).items())
        + f"\n{rows}\n"
    )
