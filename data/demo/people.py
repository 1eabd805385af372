"""Who was on the air: an invented club, its region and their habits. Every call sign begins with Q."""

from __future__ import annotations

import numpy as np
import pandas as pd

from analysis.gather import locators
from analysis.tag import coast

CLUB = "Lantern Point VHF Circle"
CLUB_CALL = "QF6LPC"
HOME = "IN93EK"
FIRST_SEASON = 2020

# prefix, latitude, longitude, how many operators live around there
AREAS = (
    ("QF5", 43.45, -1.35, 4), ("QF5", 44.8, -0.6, 2), ("QF5", 46.1, -0.9, 1), ("QF4", 47.2, -1.6, 2),
    ("QF4", 48.3, -4.1, 2), ("QF4", 48.1, -1.7, 1), ("QF1", 48.8, 2.3, 3), ("QF5", 45.8, 1.3, 1),
    ("QF5", 43.6, 1.4, 2), ("QF3", 45.8, 3.1, 1), ("QF3", 45.7, 4.9, 1), ("QF3", 43.6, 5.5, 2),
    ("QF1", 50.5, 2.9, 1), ("QF9", 42.1, 9.3, 1),
    ("QE2", 43.2, -2.7, 2), ("QE1", 43.35, -5.7, 2), ("QE1", 43.1, -8.2, 3), ("QE1", 41.8, -4.8, 2),
    ("QE4", 40.4, -3.6, 3), ("QE2", 41.7, -1.0, 2), ("QE3", 41.6, 2.0, 2), ("QE5", 39.5, -0.6, 2),
    ("QE7", 37.4, -5.4, 2), ("QE7", 37.2, -2.6, 1), ("QP1", 38.9, -9.0, 2), ("QP1", 41.2, -8.4, 1),
    ("QG2", 50.4, -4.8, 2), ("QG2", 51.2, 0.8, 1), ("QG3", 51.6, -0.5, 2), ("QG4", 52.6, -1.7, 2),
    ("QG4", 53.9, -1.5, 1), ("QG7", 56.0, -3.8, 1), ("QI2", 53.2, -7.6, 2),
    ("QN2", 52.2, 5.3, 2), ("QN6", 50.8, 4.5, 2),
    ("QT1", 45.0, 8.0, 1), ("QT5", 43.9, 11.0, 2), ("QT5", 42.0, 12.8, 2), ("QT8", 40.9, 15.2, 1),
    ("QT9", 37.6, 14.2, 2), ("QT9", 40.1, 9.0, 1),
    ("QW3", 32.75, -16.95, 1), ("QW8", 28.3, -16.55, 2), ("QW6", 37.8, -25.5, 1),
)  # fmt: skip
# call, latitude, longitude, first season on 6 m, on 2 m
NEVER = 9999
MONITORS = (
    ("QF6LPR", 43.46, -1.55, 2020, 2020),
    ("QF4MNR", 48.35, -4.45, 2020, 2021),
    ("QE1GLR", 43.30, -8.30, 2022, 2022),
    ("QF3CDR", 43.40, 5.20, NEVER, 2023),
    ("QG2KNR", 51.20, 1.10, 2025, 2025),
)
# call, latitude, longitude, bands
BEACONS = (
    ("QF6LPB/B", 43.15, -1.10, "6m 2m"), ("QF4MNB/B", 48.20, -3.70, "6m 2m"), ("QE1GLB/B", 42.85, -7.90, "6m 2m"),
    ("QF3CDB/B", 43.75, 5.75, "2m"), ("QG2KNB/B", 51.30, 0.40, "6m 2m"),
    ("QG7HIB/B", 57.00, -4.20, "6m 2m"), ("QI2MUB/B", 52.40, -8.10, "6m 2m"), ("QN2VEB/B", 52.30, 5.60, "6m 2m"),
    ("QN6ARB/B", 50.10, 5.20, "6m 2m"), ("QF1BEB/B", 48.60, 1.90, "6m"), ("QF3AUB/B", 45.60, 3.00, "6m"),
    ("QT1PIB/B", 45.20, 7.60, "6m 2m"), ("QT5LAB/B", 42.00, 12.60, "6m 2m"), ("QT9ETB/B", 37.60, 14.80, "6m 2m"),
    ("QT9SAB/B", 40.00, 9.20, "6m 2m"), ("QE5TUB/B", 39.30, -0.80, "6m"), ("QE7MAB/B", 36.90, -4.60, "6m 2m"),
    ("QP1ESB/B", 38.90, -9.20, "6m 2m"), ("QW3MDB/B", 32.75, -17.05, "6m 2m"), ("QW8TFB/B", 28.25, -16.55, "6m 2m"),
    ("QW6SMB/B", 37.80, -25.40, "6m"), ("QG4PEB/B", 54.00, -2.20, "6m 2m"),
    ("QG3NOB/B", 52.60, 1.20, "6m 2m"), ("QI7DOB/B", 54.80, -8.00, "6m 2m"), ("QG7CAB/B", 58.30, -3.50, "6m 2m"),
    ("QN2GRB/B", 53.20, 6.50, "6m 2m"), ("QT8BAB/B", 41.10, 16.60, "6m 2m"), ("QT3VEB/B", 45.60, 12.10, "6m 2m"),
    ("QE8ALB/B", 38.40, -0.60, "6m 2m"), ("QP7FAB/B", 37.10, -8.00, "6m 2m"), ("QE4CAB/B", 39.50, -6.30, "6m"),
    ("QG1CHB/B", 49.45, -2.60, "6m"), ("QF5TOB/B", 43.55, 1.60, "2m"), ("QE2ZAB/B", 41.60, -1.10, "2m"), ("QE4GUB/B", 40.70, -3.80, "2m"),
    ("QF5LIB/B", 45.90, 1.40, "2m"), ("QE1PEB/B", 43.55, -5.80, "2m"), ("QF5REB/B", 46.20, -1.45, "2m"),
    ("QE1COB/B", 43.32, -8.40, "2m"), ("QG2LIB/B", 50.05, -5.40, "2m"), ("QF4LMB/B", 47.90, 0.20, "2m"),
    ("QF3LYB/B", 45.80, 4.70, "2m"), ("QF9CAB/B", 42.40, 8.80, "2m"), ("QE6MEB/B", 39.95, 4.10, "2m"),
    ("QE3BAB/B", 41.40, 2.10, "2m"), ("QE1VAB/B", 41.70, -4.70, "2m"), ("QF1ORB/B", 48.10, 2.00, "2m"),
)  # fmt: skip
# Beacons that send a slow mode which is read far below what an ear hears.
SLOW_BEACONS = ("QN2GRB/B", "QE8ALB/B", "QT3VEB/B", "QI7DOB/B", "QP7FAB/B", "QF3LYB/B", "QE1VAB/B")
BANDS = ("6m", "2m")
GROWTH = 1.22  # operators per season
LETTERS = "ABCDEFGHJKLMNPRSTUVWXYZ"


def sites(rng: np.random.Generator) -> pd.DataFrame:
    """Every operator, automatic receiver and beacon.

    Returns
    -------
    DataFrame
        `call role lat lon from_6m from_2m gain_db power_w locator declares`, `role` one of club, operator,
        monitor, beacon, rover; `from_` the first season on that band.
    """
    first = FIRST_SEASON
    rows = [(CLUB_CALL, "club", *home(), first, first, 3.0, 100.0)]
    rows += [(*row[:1], "monitor", *row[1:], 4.0, np.nan) for row in MONITORS]
    for call, lat, lon, bands in BEACONS:
        years = [first if band in bands else NEVER for band in BANDS]
        rows.append((call, "beacon", lat, lon, *years, -2.0, 10.0))
    rows.append(("QF5RVR/P", "rover", 43.3, -0.4, first + 1, first + 1, 2.0, 50.0))
    names = ["call", "role", "lat", "lon", "from_6m", "from_2m", "gain_db", "power_w"]
    table = pd.DataFrame(rows + _operators(rng), columns=names)
    short = (table["role"] == "operator") & (rng.random(len(table)) < 0.25)
    table["locator"] = [
        locators.encode(lat=lat, lon=lon, length=4 if brief else 6)
        for lat, lon, brief in zip(table["lat"], table["lon"], short, strict=True)
    ]
    table["declares"] = (table["role"] == "operator") & (rng.random(len(table)) < 0.12) | (
        table["role"] == "club"
    )
    return table


def beacon_mhz(table: pd.DataFrame, *, band: int) -> np.ndarray:
    """Frequency of each site's beacon on 6 m (0) or 2 m (1) [MHz]; NaN where there is none."""
    ordinary = 400 + 2 * (np.arange(len(table)) % 45)
    khz = np.where(table["call"].isin(SLOW_BEACONS), (293, 489)[band], ordinary)
    there = (table["role"] == "beacon") & (table[("from_6m", "from_2m")[band]] < NEVER)
    return np.where(there, np.round((50, 144)[band] + khz / 1000, 3), np.nan)


def home() -> tuple[float, float]:
    centre = locators.centre(pd.Series([HOME])).iloc[0]
    return float(centre["lat"]), float(centre["lon"])


def _operators(rng: np.random.Generator) -> list[tuple]:
    """Operators spread over land around their areas; the pool grows by a fifth and more every season."""
    rows, taken = [], set()
    for prefix, lat, lon, n in AREAS:
        while n:
            here = lat + rng.normal(0, 0.12), lon + rng.normal(0, 0.16)
            call = prefix + "".join(rng.choice(list(LETTERS), 3))
            if coast.zone_at(lat=np.array([here[0]]), lon=np.array([here[1]]))[0] == 0 or call in taken:
                continue
            taken.add(call)
            bands = str(rng.choice(["6m 2m", "6m", "2m"], p=[0.6, 0.25, 0.15]))
            rows.append((call, *here, bands, rng.normal(0, 3), float(rng.choice([25, 50, 100, 200, 400]))))
            n -= 1
    order = rng.permutation(len(rows))
    final = np.round(len(rows) / GROWTH ** (5 - np.arange(6)))
    joined = FIRST_SEASON + np.searchsorted(final, order, side="right")
    return [
        (call, "operator", lat, lon, *(int(year) if band in bands else NEVER for band in BANDS), gain, power)
        for (call, lat, lon, bands, gain, power), year in zip(rows, joined, strict=True)
    ]


# --- effort -------------------------------------------------------------------------------------


def on_the_air(
    table: pd.DataFrame,
    slots: pd.DatetimeIndex,
    rng: np.random.Generator,
    *,
    season: int,
    tempting: np.ndarray,
) -> tuple[np.ndarray, np.ndarray]:
    """When each site operates, by habit and because the band is known to be open.

    Parameters
    ----------
    table : DataFrame
        Sites as from `sites`.
    tempting : array of float, shape (2, slots)
        How much 6 m and 2 m are open to somebody: people hear of it and switch on.

    Returns
    -------
    active : array of bool, shape (2, sites, slots)
        On 6 m, on 2 m.
    digital : array of bool, shape (2, sites, slots)
        Whether a digital mode is in use there.
    """
    active = np.zeros((2, len(table), len(slots)), bool)
    digital = np.zeros_like(active)
    winter = slots.month.isin([12, 1])
    share = 0.30 + 0.10 * (season - FIRST_SEASON)  # of sessions in digital modes
    for site, row in enumerate(table.itertuples()):
        equipped = np.array([row.from_6m, row.from_2m]) <= season
        if not equipped.any():
            continue
        if row.role in ("monitor", "beacon"):
            active[:, site] = equipped[:, None]
            digital[:, site] = row.role == "monitor"
            if row.role == "monitor":
                active[1, site] &= ~winter  # in winter only 6 m is worth the electricity
                _breakdowns(active[:, site], rng)
            continue
        habit = _sessions(row.role, slots, rng, all_day=0.04 * (season - FIRST_SEASON + 1))
        sessions = pd.concat([habit, _tempted(tempting, slots, rng)], ignore_index=True)
        for start, end, band in sessions.itertuples(index=False):
            if equipped[band]:
                active[band, site, start:end] = True
                digital[band, site, start:end] = rng.random() < share
    return active, digital


def _breakdowns(active: np.ndarray, rng: np.random.Generator) -> None:
    """An automatic receiver fails a few times in a season for hours or days (changes `active`)."""
    for start in rng.integers(0, active.shape[1], rng.poisson(5)):
        active[:, start : start + int(rng.exponential(24 * 6))] = False


def _sessions(
    role: str, slots: pd.DatetimeIndex, rng: np.random.Generator, *, all_day: float
) -> pd.DataFrame:
    """Habit: weekday evenings, weekends, contests, sets left running: `start end` slots, `band`."""
    keen = 2.0 if role == "club" else np.exp(rng.normal(0, 0.4))
    rows = []
    for first in range(0, len(slots), 144):
        day = slots[first]
        weekend = day.day_of_week >= 5
        contest = weekend and day.day <= 7
        if rng.random() < min(0.95, (0.34 if not weekend else 0.4) * keen):
            rows.append(_session(first, rng.normal(18.8 + 0.5 * weekend, 1.1), rng.exponential(1.4), rng))
        if weekend and rng.random() < 0.22 * keen:
            rows.append(_session(first, rng.normal(9.5, 1.5), rng.exponential(2.5), rng))
        if contest and rng.random() < min(0.9, (0.9 if role in ("rover", "club") else 0.5) * keen):
            start, hours = (14.0, 9.0) if day.day_of_week == 5 else (5.0, 9.0)
            rows += [
                (*_session(first, start, hours, rng)[:2], 1),
                (*_session(first, start, hours, rng)[:2], 0),
            ]
        if rng.random() < all_day * keen:
            rows.append(_session(first, rng.uniform(5, 9), rng.uniform(8, 15), rng))
    return pd.DataFrame(rows, columns=["start", "end", "band"])


def _session(first: int, hour: float, length: float, rng: np.random.Generator) -> tuple[int, int, int]:
    start = first + int(np.clip(hour, 0, 23.8) * 6)
    return start, start + max(2, int(length * 6)), int(rng.random() < 0.42)


def _tempted(tempting: np.ndarray, slots: pd.DatetimeIndex, rng: np.random.Generator) -> pd.DataFrame:
    """Switched on because the band was open and somebody said so; asleep people do not."""
    awake = (slots.hour >= 6) & (slots.hour < 23)
    pieces = []
    for band in (0, 1):
        for start in np.flatnonzero(awake & (rng.random(len(slots)) < 0.05 * tempting[band])):
            pieces.append((start, start + 1 + rng.poisson(8), band))
    return pd.DataFrame(pieces, columns=["start", "end", "band"])


def declared(
    table: pd.DataFrame, slots: pd.DatetimeIndex, rng: np.random.Generator, *, active
) -> pd.DataFrame:
    """Hours that some operators wrote down, two thirds of their sessions: `station band start end`."""
    rows = []
    for site in np.flatnonzero(table["declares"]):
        for band, name in enumerate(BANDS):
            on = active[band, site]
            # A session ends where the station stops or where the covered days do.
            new = np.diff(on, prepend=False) | (np.diff(slots.day_of_year, prepend=0) > 1)
            starts = np.flatnonzero(on & new)
            for start in starts[rng.random(len(starts)) < 0.67]:
                ends = np.flatnonzero(new[start + 1 :] | ~on[start + 1 :])
                last = start + ends[0] if len(ends) else len(slots) - 1
                rows.append(
                    (table["call"].iloc[site], name, slots[start], slots[last] + pd.Timedelta(minutes=10))
                )
    return pd.DataFrame(rows, columns=["station", "band", "start", "end"])


def feed_outages(n_slots: int, rng: np.random.Generator) -> np.ndarray:
    """Slots in which no report of anybody reached the collection: a few spans of hours to two days."""
    lost = np.zeros(n_slots, bool)
    for start in rng.integers(0, n_slots, 3):
        lost[start : start + int(rng.uniform(8, 40) * 6)] = True
    return lost
