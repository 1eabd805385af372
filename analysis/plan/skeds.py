"""When to try with one partner: hours of each month in both operators' local time."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd
from statsmodels.stats.proportion import proportion_confint

from analysis.find.reach import LONGEST_HOP_KM, SLACK
from analysis.fit.estimate import Series
from analysis.fit.model.curves import LEVEL
from analysis.plan.constraints import ALL_DAY, in_hours
from analysis.plan.localtime import hour_by_month
from analysis.plan.sites import place
from analysis.tag.coast import path_shares
from analysis.tag.paths import geodesics

PATCH_KM = 200.0  # a cloud or duct this near the control point would have served the path
HALVES_NEEDED = 20  # open half-hours in the region below which no share of the path is stated
WORTH_TRYING = 0.005  # chance of an open half-hour on the path below which no sked is suggested
TOO_RARE = "in your hours no month offers this path in one half-hour out of two hundred"
SHORTEST_ES_KM = 500.0  # common practice, no source
LONGEST_TR_KM = 900.0  # common practice, no source
TWO_HOPS_KM = 4200.0  # two hops, each a little short of the longest
COLUMNS = [
    "band",
    "mechanism",
    "path_type",
    "month",
    "utc_hour",
    "local_hour",
    "partner_hour",
    "chance",
    "low",
    "high",
    "share",
    "n_halves",
    "verdict",
    "reason",
]


@dataclass(frozen=True, kw_only=True)
class Sked:
    """Two stations that want to work each other: both locators, and the IANA name of the partner's zone.

    Examples
    --------
    >>> from analysis import Sked
    >>> Sked(home="IN93", partner="JO62", partner_zone="Europe/Berlin").partner
    'JO62'
    """

    home: str
    partner: str
    partner_zone: str = "UTC"


def sked_path(home: str, partner: str) -> dict[str, Any]:
    """The path between two locators: distance, bearings, what lies under it, how it may be bridged.

    Returns
    -------
    dict
        `distance_km`, `bearing_deg` (home to partner), `back_deg`, `path_type`, `mid_lon mid_lat`, `hops`
        of sporadic E, and `points`: for each mechanism that can bridge the path (ES, TR) its control
        points, a list of (lon, lat).

    Raises
    ------
    InputError
        If either is no locator.
    """
    (lon1, lat1), (lon2, lat2) = place(home), place(partner)
    way = geodesics(lon1=[lon1], lat1=[lat1], lon2=[lon2], lat2=[lat2]).iloc[0]
    under = path_shares(lon1=[lon1], lat1=[lat1], lon2=[lon2], lat2=[lat2]).iloc[0]
    distance = float(way["distance_km"])
    hops = 1 if distance <= LONGEST_HOP_KM else 2
    middle = [(way["mid_lon"], way["mid_lat"])]
    quarters = [(way["near_lon"], way["near_lat"]), (way["far_lon"], way["far_lat"])]
    points = {}
    if SHORTEST_ES_KM <= distance <= TWO_HOPS_KM:
        points["ES"] = middle if hops == 1 else quarters
    if distance <= LONGEST_TR_KM:
        points["TR"] = middle
    return {
        "distance_km": distance,
        "bearing_deg": float(way["bearing_deg"]),
        "back_deg": float(way["tx_bearing_deg"]),
        "path_type": str(under["path_type"]),
        "hops": hops,
        "mid_lon": float(way["mid_lon"]),
        "mid_lat": float(way["mid_lat"]),
        "points": points,
    }


def sked_table(
    series: Sequence[Series],
    spots: pd.DataFrame,
    sked: Sked,
    *,
    zone: str,
    year: int,
    hours: tuple[float, float] = ALL_DAY,
    best: int = 3,
) -> pd.DataFrame:
    """The best hours of each month for a sked with one partner.

    Parameters
    ----------
    series : list of Series
        Bands and mechanisms; those that cannot bridge the path are left out.
    spots : DataFrame
        Tagged spots with `opening`.
    sked : Sked
    zone : str
        IANA name of the operator's own zone.
    year : int
    hours : (float, float)
        When the operator can sit down, in local civil time.
    best : int
        Hours per month and series.

    Returns
    -------
    DataFrame
        `band mechanism path_type month utc_hour local_hour partner_hour chance low high share n_halves
        verdict reason`, best hour first; months in which not one half-hour in two hundred would be open
        are left out. `chance` is that of an open half-hour in the region times
        `share`, the part of the region's open half-hours with a report within 200 km of every control
        point of this path; one row without numbers where that cannot be told.

    Notes
    -----
    The share is an average over the season, so the chance ranks hours rightly and its height is
    indicative: a partner must be on the air, and reports are not everywhere where clouds are.
    """
    path = sked_path(sked.home, sked.partner)
    tables = [
        _skeds(one, spots, path, zones=(zone, sked.partner_zone), year=year, awake=hours, best=best)
        for one in series
        if one.mechanism in path["points"] and one.path_type in ("all", path["path_type"])
    ]
    return pd.concat(tables, ignore_index=True) if tables else pd.DataFrame(columns=COLUMNS)


def path_share(
    spots: pd.DataFrame, *, points: Sequence[tuple[float, float]], hop_km: float
) -> tuple[int, int]:
    """Open half-hours of the region, and those with a report near every control point.

    Parameters
    ----------
    spots : DataFrame
        Tagged spots of one series that belong to openings.
    points : list of (lon, lat)
        Control points [degrees east, north].
    hop_km : float
        Length of one hop of the path; a report over a much longer path needs less of the cloud and
        proves nothing.
    """
    half = spots["time"].dt.floor("30min")
    able = spots["distance_km"].to_numpy() * SLACK <= hop_km
    served = None
    for lon, lat in points:
        away = geodesics(lon1=lon, lat1=lat, lon2=spots["mid_lon"], lat2=spots["mid_lat"])["distance_km"]
        near = set(half[(away.to_numpy() <= PATCH_KM) & able])
        served = near if served is None else served & near
    return half.nunique(), len(served or ())


def _skeds(one: Series, spots, path, *, zones, year, awake, best) -> pd.DataFrame:
    """Rows of one series."""
    mask = (spots["band"] == one.band) & (spots["mechanism"] == one.mechanism) & spots["opening"].notna()
    if one.path_type != "all":
        mask &= spots["path_type"] == one.path_type
    points = path["points"][one.mechanism]
    n, served = path_share(spots[mask], points=points, hop_km=path["distance_km"] / len(points))
    # The sun that counts is the one over the middle of this path.
    hours = hour_by_month(one, lon=path["mid_lon"], lat=path["mid_lat"], zone="UTC", year=year)
    refused = hours["verdict"].iloc[0] == "refuse"
    shares = _share_interval(n, served)
    table = hours.dropna(subset=["chance"]).rename(columns={"hour": "utc_hour"})
    for name, share in zip(("chance", "low", "high"), shares, strict=True):
        table[name] *= share
    for name, where in zip(("local_hour", "partner_hour"), zones, strict=True):
        table[name] = _civil_hour(table["month"], table["utc_hour"], zone=where, year=year)
    table = table[in_hours(table["local_hour"] + 0.5, awake) & (table["chance"] >= WORTH_TRYING)]
    said = "" if refused else _refusal(n, served) or ("" if len(table) else TOO_RARE)
    about: dict[str, Any] = {**one.keys(), "n_halves": n}
    about |= {
        "verdict": "refuse" if said else hours["verdict"].iloc[0],
        "reason": said or hours["reason"].iloc[0],
    }
    if about["verdict"] == "refuse":
        return pd.DataFrame([about]).reindex(columns=COLUMNS)
    table = table.sort_values(["month", "chance"], ascending=[True, False]).groupby("month").head(best)
    return table.assign(share=shares[0], **about)[COLUMNS].reset_index(drop=True)


def _refusal(n: int, served: int) -> str:
    """Why no share of the path may be stated; empty where one may."""
    if n < HALVES_NEEDED:
        return f"only {n} open half-hours in the region, at least {HALVES_NEEDED} are needed"
    return "" if served else f"in {n} open half-hours nobody reported a path through the middle of this one"


def _share_interval(n: int, served: int) -> tuple[float, float, float]:
    """Share and its 90 % interval by Jeffreys' prior (Brown, Cai and DasGupta, Statistical Science 2001)."""
    if not n:
        return np.nan, np.nan, np.nan
    low, high = proportion_confint(served, n, alpha=1 - LEVEL, method="jeffreys")
    return served / n, float(low), float(high)


def _civil_hour(month: pd.Series, hour: pd.Series, *, zone: str, year: int) -> np.ndarray:
    """Local time (hours, with the fraction of half-hour zones) of a UTC hour in the middle of a month."""
    text = year * 10000 + month * 100 + 15
    utc = pd.to_datetime(text.astype("str"), format="%Y%m%d", utc=True) + pd.to_timedelta(hour, unit="h")
    local = utc.dt.tz_convert(zone)
    return (local.dt.hour + local.dt.minute / 60).to_numpy()
