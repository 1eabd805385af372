"""Which hours of each month are best, in local civil time, and where openings then come from.

Fits run on hours of the Sun; people live by the clock. The way from one to the other leads through UTC
for every half-hour of a year, so that a change to summer time lands where it belongs.
"""

from __future__ import annotations

import numpy as np
import pandas as pd
from scipy.stats import t

from analysis.fit.estimate import Series
from analysis.fit.model.curves import (
    BINS_NEEDED,
    LEVEL,
    Fit,
    kept_seasons,
    over_seasons,
    refit_groups,
    standard_error,
)
from analysis.fit.model.harmonics import design
from analysis.plan.constraints import time_zone
from analysis.tag.paths import geodesics
from analysis.tag.sun import season_of, solar_hour, sun_hours

SECTORS = ("north", "north-east", "east", "south-east", "south", "south-west", "west", "north-west")
OPENINGS_NEEDED = 5  # fewer say nothing about the usual direction
GOOD_SHARE = 2 / 3  # of a month's best hour: hours as good as that are worth an alarm
HOURS = (
    *("band", "mechanism", "path_type", "month", "hour", "chance", "low", "high", "n_monitored"),
    *("tier", "verdict", "reason"),
)
WORTH_WAKING = 0.02  # chance of an open half-hour below which no alarm is suggested


def hour_by_month(series: Series, *, lon: float, lat: float, zone: str, year: int) -> pd.DataFrame:
    """Chance of an open half-hour by local civil hour and month of one year.

    Parameters
    ----------
    series : Series
        Half-hours of one band, mechanism and path type.
    lon, lat : float
        Where the sun counts [degrees east, north]: the series' own reference point
        (`find.cells.reference_point`), or the middle of the paths in question.
    zone : str
        IANA name of the operator's time zone.
    year : int
        Civil year; summer time is that of the year.

    Returns
    -------
    DataFrame
        `band mechanism path_type month hour chance low high n_monitored tier verdict reason`, hours 0 ..
        23; blank where fewer than twenty half-hours were monitored. A refused series has one row without
        numbers.
    """
    fit = series.fit
    about = {"tier": series.tier, "verdict": fit.verdict.status, "reason": fit.verdict.reason}
    if not len(fit.coef):
        return pd.DataFrame([series.keys() | about]).reindex(columns=list(HOURS))
    times = _half_hours(year, zone)
    utc = times.tz_convert("UTC")
    hour = solar_hour(utc, lon=lon) if series.axis == "solar" else sun_hours(utc, lon=lon, lat=lat)
    season_day = season_of(utc, lat=lat)["season_day"].to_numpy(int)
    whole, refits = _chances(fit, hour, season_day, group=_month_hour(times))
    n = len(fit.counts.seasons)
    monitored = _monitored(series.cells, zone)
    error = standard_error(whole, refits, listened=monitored >= BINS_NEEDED, n_seasons=n)
    factor = np.exp(error * t.ppf((1 + LEVEL) / 2, refit_groups(n) + 1))
    table = pd.DataFrame({"month": np.repeat(np.arange(1, 13), 24), "hour": np.tile(np.arange(24), 12)})
    table["chance"], table["low"], table["high"] = whole, whole / factor, np.minimum(whole * factor, 1)
    table["n_monitored"] = monitored
    table.loc[table["n_monitored"] < BINS_NEEDED, ["chance", "low", "high"]] = np.nan
    return table.assign(**series.keys(), **about)[list(HOURS)]


def likely_directions(
    spots: pd.DataFrame,
    *,
    band: str,
    mechanism: str,
    lon: float,
    lat: float,
    zone: str,
    path_type: str = "all",
) -> pd.DataFrame:
    """Where from home the paths' midpoints lie in each month and local civil hour.

    Parameters
    ----------
    spots : DataFrame
        Tagged spots with `opening`.
    band, mechanism, path_type : str
        The series.
    lon, lat : float
        Home [degrees east, north].
    zone : str
        IANA name.

    Returns
    -------
    DataFrame
        `month hour direction share openings`: the commonest of eight directions, how large a share of
        the openings it has, out of how many; every opening counts once per hour and direction, however
        many spots it has. Hours with fewer than five openings are left out.
    """
    mask = (spots["band"] == band) & (spots["mechanism"] == mechanism) & spots["opening"].notna()
    if path_type != "all":
        mask &= spots["path_type"] == path_type
    rows = spots.loc[mask & spots["mid_lon"].notna(), ["time", "mid_lon", "mid_lat", "opening"]]
    there = geodesics(lon1=lon, lat1=lat, lon2=rows["mid_lon"], lat2=rows["mid_lat"])["bearing_deg"]
    local = rows["time"].dt.tz_convert(zone)
    table = pd.DataFrame({"month": local.dt.month, "hour": local.dt.hour, "opening": rows["opening"]})
    table["direction"] = np.array(SECTORS)[sector(there.to_numpy())]
    each = table.drop_duplicates().groupby(["month", "hour", "direction"]).size().rename("n").reset_index()
    total = table.groupby(["month", "hour"])["opening"].nunique().rename("openings").reset_index()
    best = each.sort_values("n", ascending=False, kind="stable").drop_duplicates(["month", "hour"])
    found = total.merge(best, on=["month", "hour"], validate="one_to_one")
    found["share"] = found["n"] / found["openings"]
    return found.loc[
        found["openings"] >= OPENINGS_NEEDED, ["month", "hour", "direction", "share", "openings"]
    ].reset_index(drop=True)


def sector(bearing_deg: np.ndarray) -> np.ndarray:
    """Number of the eighth of the compass, 0 around north, clockwise."""
    return np.floor((np.asarray(bearing_deg, float) + 22.5) % 360 / 45).astype("int64")


def alarms(hours: pd.DataFrame, *, share: float = GOOD_SHARE, worth: float = WORTH_WAKING) -> pd.DataFrame:
    """Runs of hours, month by month, in which the chance comes near the month's best.

    Parameters
    ----------
    hours : DataFrame
        As `hour_by_month` returns them, of one series.
    share : float
        A run holds the hours with at least this share of the month's best chance.
    worth : float
        Months whose best chance is smaller have no alarm.

    Returns
    -------
    DataFrame
        `month start end chance`: first hour, hour after the last (past midnight beyond 24) and mean
        chance of an open half-hour; local civil time, in order of month and chance.
    """
    rows = []
    for month, part in hours.dropna(subset=["chance"]).groupby("month"):
        chance = part.set_index("hour")["chance"].reindex(range(24))
        if chance.max() < worth:
            continue
        good = (chance >= share * chance.max()).to_numpy()
        rows += [
            (month, start, end, chance.iloc[np.arange(start, end) % 24].mean())
            for start, end in _rounds(good)
        ]
    table = pd.DataFrame(rows, columns=["month", "start", "end", "chance"])
    return table.sort_values(["month", "chance"], ascending=[True, False]).reset_index(drop=True)


def _half_hours(year: int, zone: str) -> pd.DatetimeIndex:
    """Middles of all half-hours of a civil year, 48 a day but for the days on which the clocks change."""
    zoned = time_zone(zone)
    first, last = (pd.Timestamp(y, 1, 1).tz_localize(zoned) for y in (year, year + 1))
    return pd.date_range(first, last, freq="30min", inclusive="left") + pd.Timedelta(minutes=15)


def _month_hour(times: pd.DatetimeIndex) -> np.ndarray:
    """Class of each local time: month times 24 plus hour, from 0."""
    return np.asarray((times.month - 1) * 24 + times.hour)


def _chances(fit: Fit, hour, season_day, *, group) -> tuple[np.ndarray, np.ndarray]:
    """Mean chance in each of the 288 classes: the fit's own, and one row per refit."""
    x = design(hour, season_day, harmonics=fit.harmonics)
    size = np.maximum(np.bincount(group, minlength=288), 1)

    def pool(chance: np.ndarray) -> np.ndarray:
        return np.stack([np.bincount(group, weights=one, minlength=288) for one in chance]) / size

    refits = over_seasons(fit, x, pool, betas=fit.refits, seasons=kept_seasons(fit))
    return over_seasons(fit, x, pool)[0], refits


def _monitored(cells: pd.DataFrame, zone: str) -> np.ndarray:
    """Monitored half-hours in each of the 288 classes of month and local hour."""
    seen = pd.DatetimeIndex(cells.loc[cells["n_listening"] > 0, "start"])
    return np.bincount(_month_hour(seen.tz_convert(zone)), minlength=288)


def _rounds(good: np.ndarray) -> list[tuple[int, int]]:
    """Runs of true hours on the round clock: first hour, and the one after the last (may pass 24)."""
    if good.all():
        return [(0, 24)]
    starts = np.flatnonzero(good & ~np.roll(good, 1))
    ends = np.flatnonzero(good & ~np.roll(good, -1)) + 1
    return [(int(start), int(min(end for end in [*ends, *(ends + 24)] if end > start))) for start in starts]
