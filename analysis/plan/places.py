"""Where to go: what opens from a place other than one's own, out of the reports of the whole region (`find.reach`)."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import numpy as np
import pandas as pd
from scipy.stats import t

from analysis.find.hearers import heard_at
from analysis.find.openings import openings_from
from analysis.find.reach import HERE, HOME_KM, headings_from
from analysis.fit.ahead.days import DaySeries
from analysis.fit.estimate import Series
from analysis.fit.model.curves import LEVEL
from analysis.gather.problems import InputError
from analysis.plan.constraints import ALL_DAY, QUADRANTS
from analysis.plan.hours import days_in_hours
from analysis.plan.localtime import SECTORS, sector
from analysis.plan.sites import coarseness, ground, headings, place, sun_times

NOBODY_LISTENED = "nobody who could have noticed an opening there around midsummer is known to have listened for a quarter of a day"
MOST_PLACES = 10  # judgement: as many as fit one picture
TOLD_HEADINGS = 3  # judgement
MIDSUMMER_DAYS = 46  # either side of the solstice
NO_CLOUD = "no reported path was bent where one from here would have to be"
NOBODY_NEAR = f"no such opening was reported from within {HOME_KM:.0f} km of the place"


def place_series(
    spots: pd.DataFrame,
    openings: pd.DataFrame,
    series: Series,
    *,
    lon: float,
    lat: float,
    hours: tuple[float, float] = ALL_DAY,
    zone: str = "UTC",
) -> DaySeries:
    """Opening days of a series from a place.

    Parameters
    ----------
    spots, openings : DataFrame
        Tagged spots with `opening`; openings of the region.
    series : Series
        Band, mechanism, path type and who listened where: a day counts as listened to by those who could have
        noticed an opening at the place.
    lon, lat : float
        The place [degrees east, north].
    hours, zone
        Hours of the day that count, in local civil time, as for `hours.within_hours`.
    """
    found = openings_from(_of(spots, series), openings, lon=lon, lat=lat)
    if series.ears is not None:
        about: dict[str, Any] = {"scope": HERE, "mechanism": series.mechanism, "lon": lon, "lat": lat}
        series = replace(series, heard=heard_at(series.ears, **about))
    return days_in_hours(found, series, hours=hours, zone=zone, scope=HERE)


def direction_series(
    spots: pd.DataFrame,
    openings: pd.DataFrame,
    series: Series,
    *,
    lon: float,
    lat: float,
    hours: tuple[float, float] = ALL_DAY,
    zone: str = "UTC",
) -> list[DaySeries]:
    """Opening days of a series toward north, east, south and west of a place, for the plan.

    Parameters as for `place_series`; `direction` of each result is the quadrant, after the path type
    where the series has one (`sea south`).
    """
    mine = _of(spots, series)
    prefix = "" if series.path_type == "all" else f"{series.path_type} "
    found = []
    for number, name in enumerate(QUADRANTS):
        toward = (90.0 * number - 45, 90.0 * number + 45)
        seen = openings_from(mine, openings, lon=lon, lat=lat, toward=toward)
        about: dict[str, Any] = {"scope": HERE, "direction": f"{prefix}{name}"}
        found.append(days_in_hours(seen, series, hours=hours, zone=zone, **about))
    return found


def wanted(direction: pd.Series, toward: Sequence[str] = ()) -> pd.Series:
    """Mask of directions in the quadrants wanted, by the names of `direction_series`; none: of whole series."""
    quadrant = direction.astype("str").str.split().str[-1]
    return quadrant.isin(toward) if toward else ~quadrant.isin(QUADRANTS)


def compare_places(
    candidates: Sequence[str],
    spots: pd.DataFrame,
    openings: pd.DataFrame,
    series: Sequence[Series],
    *,
    zone: str,
    year: int,
    hours: tuple[float, float] = ALL_DAY,
) -> pd.DataFrame:
    """Up to ten candidate places side by side.

    Parameters
    ----------
    candidates : list of str
        Locators.
    spots, openings : DataFrame
        Tagged spots with `opening`; openings of the region.
    series : list of Series
        What to compare them in.
    zone : str
        IANA name of the zone that sunrise, sunset and `hours` are given in.
    year : int
        Of the midsummer that they belong to.
    hours : (float, float)
        Hours of the day that count, as for `hours.within_hours`.

    Returns
    -------
    DataFrame
        One row per place and series: `locator lon lat ground coast_km sunrise sunset sea_share
        sea_headings note band mechanism path_type open_share low high n_days n_openings n_paths
        best_heading headings tier verdict reason`. `sea_share` is that of paths of 400 km all around,
        `sea_headings` the eighths of the compass in which such a path runs over sea, `note` what a short
        locator leaves open. `open_share` is the share of monitored days within 46 days of midsummer on
        which an opening would have served the place (interval by leaving out seasons), `n_openings` and
        `n_paths` (pairs of locators) what served it in all, `best_heading` the eighth with most of these
        openings and `headings` the three best with the number of openings in each.

    Raises
    ------
    InputError
        If there are no candidates, more than ten, or one is no locator.
    """
    if not 1 <= len(candidates) <= MOST_PLACES:
        raise InputError(f"{len(candidates)} places to compare; give 1 to {MOST_PLACES} locators")
    rows = []
    for locator in candidates:
        lon, lat = place(locator)
        about: dict[str, Any] = {
            "locator": locator.strip().upper(),
            "lon": lon,
            "lat": lat,
            **ground(lon=lon, lat=lat),
        }
        about |= sun_times(lon=lon, lat=lat, zone=zone, year=year)
        about |= _sea_around(lon=lon, lat=lat) | {"note": coarseness(locator)}
        for one in series:
            found = _from_here(spots, openings, one, lon=lon, lat=lat, hours=hours, zone=zone)
            rows.append(about | one.keys() | found)
    return pd.DataFrame(rows)


def _sea_around(*, lon: float, lat: float) -> dict[str, Any]:
    around = headings(lon=lon, lat=lat)
    over = around.loc[around["path_type"] == "sea", "heading"]
    return {"sea_share": float(around["sea_share"].mean()), "sea_headings": ", ".join(over)}


def _of(spots: pd.DataFrame, series: Series) -> pd.DataFrame:
    mask = (
        (spots["band"] == series.band) & (spots["mechanism"] == series.mechanism) & spots["opening"].notna()
    )
    if series.path_type != "all":
        mask &= spots["path_type"] == series.path_type
    return spots[mask]


def _from_here(spots, openings, series: Series, *, lon: float, lat: float, hours, zone) -> dict[str, Any]:
    """Share of midsummer days that would have served a place, and where its openings lie."""
    mine = _of(spots, series)
    bearing = headings_from(mine, lon=lon, lat=lat, mechanism=series.mechanism)
    one = place_series(spots, openings, series, lon=lon, lat=lat, hours=hours, zone=zone)
    about: dict[str, Any] = {"tier": one.verdict.tier, "verdict": one.verdict.status}
    served = mine.assign(eighth=sector(np.nan_to_num(bearing)))[np.isfinite(bearing)]
    about |= {"n_openings": served["opening"].nunique()}
    about |= {"n_paths": len(served[["tx_locator", "rx_locator"]].drop_duplicates())}
    nobody = one.verdict.tier != "C" and not about["n_openings"]
    about["reason"] = (
        (NO_CLOUD if series.mechanism == "ES" else NOBODY_NEAR) if nobody else one.verdict.reason
    )
    blank = {"open_share": np.nan, "low": np.nan, "high": np.nan, "n_days": 0}
    days = one.days[one.days["monitored"] & one.days["season_day"].abs().le(MIDSUMMER_DAYS)]
    if days.empty and one.verdict.tier != "C" and not nobody:
        about |= {"verdict": "refuse", "reason": NOBODY_LISTENED}
    if one.verdict.status == "refuse" or days.empty:
        return blank | {"best_heading": "", "headings": ""} | about
    value, low, high = _share(days)
    most = served.drop_duplicates(["opening", "eighth"])["eighth"].value_counts().head(TOLD_HEADINGS)
    told = [f"{SECTORS[eighth]} ({n})" for eighth, n in most.items()]
    found = {"open_share": value, "low": low, "high": high, "n_days": len(days)}
    return found | {"best_heading": SECTORS[most.index[0]], "headings": ", ".join(told)} | about


def _share(days: pd.DataFrame) -> tuple[float, float, float]:
    """Share of opening days and its 90 % interval on the logit, leaving out one season at a time."""
    counts = days.groupby("season")["open"].agg(["sum", "size"])
    total, size, n = counts["sum"].sum(), counts["size"].sum(), len(counts)
    value = (total + 0.5) / (size + 1)
    theta = np.log(value / (1 - value))
    if n < 2:
        # One season cannot show how seasons differ; theirs differ by about this much.
        error, freedom = 0.45, 2
    else:
        left = (total - counts["sum"] + 0.5) / (size - counts["size"] + 1)
        out = np.log(left / (1 - left))
        error = max(np.sqrt((n - 1) / n * ((out - out.mean()) ** 2).sum()), 0.45 / np.sqrt(n))
        freedom = n + 1
    reach = t.ppf((1 + LEVEL) / 2, freedom) * error
    low, high = (1 / (1 + np.exp(-(theta + sign * reach))) for sign in (-1, 1))
    return float(total / size), float(low), float(high)
