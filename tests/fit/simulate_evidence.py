"""Seeded days that open by weather of their own, with forecasts and weather files of known worth beside them."""

from __future__ import annotations

import numpy as np
import pandas as pd

LEADS = range(7)
VOID_FORECASTS = ("noise", "slow", "calendar", "echo")
VOID_WEATHER = ("slow", "season", "rare")


def days(rng, *, seasons=6, gaps=0.1):
    """Days of a tropo series: `day season season_day open`, and the weather behind them (`sky`).

    Spells last some five days, good and bad seasons differ, a day in ten nobody listened, and winter
    is not covered.
    """
    parts = []
    for season in range(2019, 2019 + seasons):
        day = pd.date_range(f"{season}-03-01", f"{season}-10-31")
        season_day = (day - pd.Timestamp(f"{season}-06-21")).days.to_numpy()
        sky = wandering(rng, len(day), memory=0.8)
        level = -1.1 + 0.9 * np.cos(2 * np.pi * (season_day - 40) / 365) + rng.normal(0, 0.3)
        opened = (sky + 0.4 * rng.normal(size=len(day)) + level > 0).astype(float)
        opened[rng.random(len(day)) < gaps] = np.nan
        parts.append(
            pd.DataFrame({"day": day, "season": season, "season_day": season_day, "open": opened, "sky": sky})
        )
    return pd.concat(parts, ignore_index=True)


def wandering(rng, n, *, memory):
    """A series of unit spread that forgets slowly."""
    shock = rng.normal(size=n) * np.sqrt(1 - memory**2)
    out = np.empty(n)
    out[0] = rng.normal()
    for k in range(1, n):
        out[k] = memory * out[k - 1] + shock[k]
    return out


def forecast(rng, states, *, kind, lead):
    """Index from 0 to 10 for every day: with `skill`, or void in one of four ways."""
    n, season_day = len(states), states["season_day"].to_numpy()
    if kind == "skill":
        raw = states["sky"].to_numpy() + (0.7 + 0.25 * lead) * rng.normal(size=n)
    elif kind == "noise":
        raw = rng.normal(size=n)
    elif kind == "slow":
        raw = np.concatenate([wandering(rng, len(own), memory=0.9) for _, own in states.groupby("season")])
    elif kind == "calendar":  # livelier where the season is, as counts are
        height = 1 + np.cos(2 * np.pi * (season_day - 40) / 365)
        raw = height * (1 + 0.5 * rng.normal(size=n))
    else:  # says again what was seen on the day of issue
        seen = states["open"].shift(max(lead, 1)).fillna(0.3).to_numpy()
        raw = 1.5 * seen + 0.7 * rng.normal(size=n)
    return np.clip(np.round(4 + 2 * raw), 0, 10)


def forecast_pairs(rng, states, *, kind):
    """As `forecast_scores` takes them: every lead of one noted forecast."""
    keys = {"forecast": kind, "area": "", "band": "2m", "mechanism": "TR", "scope": "here"}
    table = states.drop(columns="sky")
    return pd.concat(
        [
            table.assign(**keys, lead_days=lead, index=forecast(rng, states, kind=kind, lead=lead))
            for lead in LEADS
        ],
        ignore_index=True,
    )


def weather(rng, states, *, real=True):
    """Weather of the day: pressure that goes with the days (or not), and three columns that do not."""
    n, season_day = len(states), states["season_day"].to_numpy()
    slow = [wandering(rng, len(own), memory=0.8) for _, own in states.groupby("season")]
    sky = states["sky"].to_numpy() if real else np.concatenate(slow)
    warm = np.cos(2 * np.pi * (season_day - 30) / 365)
    other = np.concatenate([wandering(rng, len(own), memory=0.8) for _, own in states.groupby("season")])
    return pd.DataFrame(
        {
            "day": states["day"],
            "pressure": 1015 + 5 * sky + 4 * rng.normal(size=n),
            "slow": other,
            "season": 15 + 8 * warm + 3 * rng.normal(size=n),
            "rare": (rng.random(n) < 0.04 * (1 + warm)).astype(float),
        }
    )


def neighbours(rng, *, diff_db=6.0, days=10, per_day=60):
    """Two stations on the same beacons: spots, tagged as far as is wanted, and when they listened.

    The first hears everything `diff_db` stronger; each loses 3 dB or gains them by its own fading, and what
    is below -15 dB is read by neither.
    """
    n = days * per_day
    time = pd.Timestamp("2024-06-01 18:00", tz="UTC") + pd.to_timedelta(
        np.repeat(np.arange(days) * 1440, per_day) + np.tile(np.arange(per_day) * 3, days), unit="min"
    )
    tx = rng.integers(0, 8, n)
    sky = rng.normal(0, 9, n) + np.repeat(rng.normal(0, 3, days), per_day)
    parts = []
    for call, gain in (("Q1UP", diff_db / 2), ("Q1DN", -diff_db / 2)):
        snr = np.round(sky + gain + rng.normal(0, 3, n))
        rows = pd.DataFrame({"time": time, "tx_call": [f"Q{k}B/B" for k in tx], "snr_db": snr})
        rows["rx_call"], rows["rx_locator"] = call, "IN93EK" if call == "Q1UP" else "IN93FL"
        parts.append(rows.assign(bearing_deg=45.0 * tx)[snr >= -15])
    about = {"band": "2m", "mode": "WSPR", "mechanism": "LOS", "doubt": ""}
    spots = pd.concat(parts, ignore_index=True).assign(**about)
    starts = pd.to_datetime(pd.Series(time).dt.floor("D").unique()) + pd.Timedelta("18h")
    on = [
        pd.DataFrame({"station": s, "band": "2m", "start": starts, "end": starts + pd.Timedelta("4h")})
        for s in ("Q1UP", "Q1DN")
    ]
    return spots, pd.concat(on, ignore_index=True)


def days_table(states):
    """States as `days.csv` has them."""
    about = {"scope": "here", "band": "2m", "mechanism": "TR", "path_type": "all"}
    return states.assign(**about, listened=states["open"].notna(), open=states["open"] == 1)
