"""Opening days: half-hours and openings of one series, counted by local solar day."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from analysis.find.reach import REGION
from analysis.fit.assess import DAYS_FOR_OK, DAYS_NEEDED, Verdict, assess
from analysis.fit.estimate import Series

MONITORED_SHARE = 0.25  # of a day's half-hours; with less, a day without an opening says little
MIN_DURATION = 30  # minutes
HALF_HOURS = 48


@dataclass(frozen=True)
class DaySeries:
    """Days of one band, mechanism and direction (`days` as `open_days` returns them), and their verdict."""

    band: str
    mechanism: str
    direction: str
    days: pd.DataFrame
    verdict: Verdict

    def keys(self) -> dict[str, str]:
        """What names the series in every table."""
        return {"band": self.band, "mechanism": self.mechanism, "direction": self.direction}


def day_series(openings: pd.DataFrame, series: Series, *, direction: str | None = None) -> DaySeries:
    """Days of a series of half-hours, judged before anything is fitted to them.

    Parameters
    ----------
    openings : DataFrame
        Openings of any series; those of `series` are picked out.
    series : Series
        Band, mechanism, path type, tier and half-hour cells.
    direction : str, optional
        What the windows table calls it; the path type by default.
    """
    days = open_days(
        openings, series.cells, band=series.band, mechanism=series.mechanism, path_type=series.path_type
    )
    verdict = assess_days(days, assess(series.cells, tier=series.tier))
    return DaySeries(series.band, series.mechanism, direction or series.path_type, days, verdict)


def open_days(
    openings: pd.DataFrame,
    cells: pd.DataFrame,
    *,
    band: str,
    mechanism: str,
    path_type: str = "all",
    min_duration: float = MIN_DURATION,
    lon: float | None = None,
    share: float = MONITORED_SHARE,
) -> pd.DataFrame:
    """One row per local solar day: was it listened to, and did an opening start in it?

    Parameters
    ----------
    openings : DataFrame
        Openings; rows of other series and single reports are left out.
    cells : DataFrame
        Half-hours of the series, `start season season_day hour n_listening`.
    min_duration : float
        Shortest opening that counts [min]; durations are already corrected for sampling.
    lon : float, optional
        Longitude whose mean solar day is used [degrees east]; read from the cells' own hours by default.

    share : float
        Part of a day's half-hours that must have been listened to; less where only some hours count.

    Returns
    -------
    DataFrame
        `date` (local), `season`, `season_day`, `monitored` (listened to), `open` (an opening started),
        `n_openings` and `open_hours` (of the openings that started), in order of date.
    """
    lon = reference_longitude(cells) if lon is None else lon
    days = _listened(cells, lon=lon, share=share)
    wanted = openings[
        (openings["band"] == band)
        & (openings["mechanism"] == mechanism)
        & (openings["path_type"] == path_type)
        & (openings["scope"] == REGION)
        & (openings["grade"] != "single")
        & (openings["duration_min"] >= min_duration)
    ]
    by_day = wanted.groupby(local_date(wanted["start"], lon=lon))["duration_min"]
    days["n_openings"] = by_day.size().reindex(days["date"], fill_value=0).to_numpy()
    days["open_hours"] = by_day.sum().reindex(days["date"], fill_value=0).to_numpy() / 60
    days["open"] = days["n_openings"] > 0
    return days[["date", "season", "season_day", "monitored", "open", "n_openings", "open_hours"]]


def assess_days(days: pd.DataFrame, verdict: Verdict) -> Verdict:
    """A series' verdict, made stricter where its opening days are fewer than its half-hours suggest.

    A direction may have far fewer opening days than the whole series, and an opening must last half an
    hour to make a day.
    """
    if verdict.status == "refuse":
        return verdict
    n = int((days["monitored"] & days["open"]).sum())
    if n < DAYS_NEEDED:
        reason = f"only {n} days with an opening of half an hour or more, at least {DAYS_NEEDED} are needed"
        return Verdict("refuse", verdict.tier, (reason,), ("add seasons",))
    if n < DAYS_FOR_OK and verdict.status == "ok":
        reason = f"only {n} days with an opening of half an hour or more"
        return replace(verdict, status="provisional", reasons=(reason,), helps=("add seasons",))
    return verdict


def local_date(times: pd.Series, *, lon: float) -> pd.Series:
    """Date of the mean solar day at a longitude [degrees east] that each UTC time falls in."""
    shift = pd.Timedelta(minutes=round(lon * 4))
    return (times.dt.tz_localize(None) + shift).dt.normalize().rename("date")


def reference_longitude(cells: pd.DataFrame) -> float:
    """Longitude at which the cells' own noon falls [degrees east], good to the equation of time."""
    noon = cells.loc[(cells["hour"] - 12).abs() <= 0.5, ["start", "hour"]]
    if noon.empty:
        return 0.0
    middle = noon["start"].dt.hour + noon["start"].dt.minute / 60 + 0.25
    angle = np.radians(15 * (noon["hour"] - middle).to_numpy())
    return float(np.degrees(np.angle(np.exp(1j * angle).mean())))


def _listened(cells: pd.DataFrame, *, lon: float, share: float) -> pd.DataFrame:
    """Date, season, season day and whether each day was listened to."""
    date = local_date(cells["start"], lon=lon)
    hours = (cells["start"].dt.tz_localize(None) - date).dt.total_seconds() / 3600 + lon / 15
    # The half-hour that holds local noon names the day: it comes once in every whole day, so no
    # season day is met twice where the date at Greenwich is another one.
    noon = cells.assign(date=date)[(hours <= 12) & (hours > 11.5)]
    days = noon.drop_duplicates("date")[["date", "season", "season_day"]].sort_values("date")
    listened = (cells["n_listening"] > 0).groupby(date).sum() / HALF_HOURS
    days["monitored"] = (listened.reindex(days["date"]) >= share).to_numpy()
    return days.reset_index(drop=True)
