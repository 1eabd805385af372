"""Where the curves are highest: hours and dates of the maxima, each with an interval.

All intervals here come from one mechanism: draws of the coefficients around the fit, spread as the
refits without each season are.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike
from scipy.stats import t

from analysis.fit.estimate import Estimate, refused
from analysis.fit.model.counts import Counts
from analysis.fit.model.curves import (
    BINS_NEEDED,
    LEVEL,
    Fit,
    all_refits,
    chances,
    curve,
    listened_days,
    refit_groups,
    standard_error,
)
from analysis.fit.model.harmonics import HALF_HOURS, SEASON_DAYS

DRAWS = 400  # speed
MORNING, EVENING = (4.0, 14.5), (14.5, 24.0)  # solar hours that part the two maxima of sporadic E
DATE_SD = 15.0  # assumed spread of a date between seasons, days: few seasons may agree by luck
FINEST_HOURS = 0.5  # simulated intervals narrower than this did not hold the truth
SEASON_SHARE = 0.25  # the season runs while the chance is above this share of its maximum
PEAK_SHARE = 0.75  # the peak is the middle of the days above this share: the very top is flat and wanders
SAME_SEASON = 90  # judgement: a quarter of a year either side
SEEN_SHARE = 0.75  # of the draws must have a date, for one to be given
WIDEST_DAYS = 120  # an interval wider than this names no date
WIDEST_HOURS = 9  # an interval wider than this names no hour
ROUGH_DAYS, ROUGH_HOURS = 60, 6  # an interval wider than this is called rough


def draws(fit: Fit, *, n: int = DRAWS, seed: int = 0) -> np.ndarray:
    """Coefficients that the data would also allow, array (n, columns)."""
    rng = np.random.default_rng(seed)
    parts = len(fit.refits)
    away = np.sqrt((parts - 1) / parts) * (fit.refits - fit.coef)
    scale = np.sqrt(rng.chisquare(parts + 1, size=(n, 1)) / (parts + 1))  # as many degrees as curves have
    return fit.coef + rng.standard_normal((n, parts)) @ away / scale


def hour_peaks(fit: Fit, *, mechanism: str, axis: str) -> dict[str, Estimate]:
    """Hours of the daily maxima: morning and evening apart for sporadic E, strongest and weakest otherwise.

    Returns
    -------
    dict
        Estimates in solar or sun-phase hours, to the half-hour and never surer than half an hour
        either way; `low` is above `high` where an interval runs through midnight.
    """
    unit = "solar hour" if axis == "solar" else "sun-phase hour"
    monitored = fit.counts.by_hour["monitored"].to_numpy()
    # Hourly readings leave every other half-hour empty, so an hour either side is looked at.
    blank = np.sum([np.roll(monitored, shift) for shift in (-1, 0, 1)], axis=0) < BINS_NEEDED
    curves = chances(fit, by="hour", betas=np.vstack([fit.coef, draws(fit)]))
    if mechanism == "ES":
        spans = {"morning peak": (MORNING, 1), "evening peak": (EVENING, 1)}
    else:
        spans = {"strongest hour": ((0.0, 24.0), 1), "weakest hour": ((0.0, 24.0), -1)}
    return {name: _hour(fit, sign * curves, blank, span, unit) for name, (span, sign) in spans.items()}


def season_dates(fit: Fit) -> dict[str, Estimate]:
    """Start, peak and end of the season as days of a common year.

    The season runs while the chance is above a quarter of its maximum; its peak is the middle of the
    days above three quarters, since the place of the maximum itself wanders on a flat top. Intervals
    are never narrower than an assumed spread between seasons allows. `low` may lie below 1 and `high`
    above 365 where an interval crosses the new year.
    """
    curves = chances(fit, by="season_day", betas=np.vstack([fit.coef, draws(fit)]))
    curves = np.where(listened_days(fit.counts), curves, np.nan)
    near = SEASON_DAYS[np.nanargmax(curves[0])]
    found = np.array([_season_days(curve, near) for curve in curves])
    names = ("season start", "season peak", "season end")
    return {name: _date(fit, days, name) for name, days in zip(names, found.T, strict=True)}


def simultaneous(fit: Fit, *, by: str = "hour") -> pd.DataFrame:
    """Band meant for a whole curve at once; approximate: it held a half to three quarters of simulated ones.

    A wiggle may be spoken of only if it leaves no room for a smooth line inside this band: the
    interval of `curves.curve` speaks of one hour or day at a time.

    Returns
    -------
    DataFrame
        `x low high`; empty where the fit is refused.
    """
    table = curve(fit, by=by)
    if not len(fit.coef):
        return table.loc[[], ["x", "low", "high"]]
    whole = chances(fit, by=by)[0]
    away = np.log(chances(fit, by=by, betas=draws(fit)) / whole)
    sure = table["chance"].notna().to_numpy()
    widest = np.abs(away[:, sure] / np.sqrt((away[:, sure] ** 2).mean(axis=0))).max(axis=1)
    error = standard_error(whole, all_refits(fit, by=by), listened=sure, n_seasons=len(fit.counts.seasons))
    factor = np.where(sure, np.exp(np.quantile(widest, LEVEL) * error), np.nan)
    low = np.maximum(whole / factor - fit.doubtful, 0)
    return pd.DataFrame({"x": table["x"], "low": low, "high": np.minimum(whole * factor, 1)})


def calendar_day(season_day: ArrayLike, counts: Counts) -> np.ndarray:
    """Day of a common year, 1 to 365, on which a season day falls in this series' hemisphere."""
    return (np.asarray(season_day, float) + counts.season_start - 1) % 365 + 1


def date_text(season_day: ArrayLike, counts: Counts) -> pd.Series:
    """Month and day, as 06-21, of season days in a common year."""
    day = calendar_day(season_day, counts).round().clip(1, 365)
    return pd.Series(pd.Timestamp(2023, 1, 1) + pd.to_timedelta(day - 1, unit="D")).dt.strftime("%m-%d")


def _hour(fit: Fit, curves: np.ndarray, blank: np.ndarray, span: tuple, unit: str) -> Estimate:
    inside = (span[0] <= HALF_HOURS) & (span[1] > HALF_HOURS)
    tops = np.array([_local_top(curve, inside) for curve in curves])
    n = int(fit.counts.by_hour["monitored"].sum())
    about: dict[str, Any] = {"unit": unit, "n": n, "method": f"{fit.method}; season jackknife draws"}
    if np.isnan(tops[0]):
        return refused(
            f"no maximum of its own between {span[0]:g} and {span[1]:g} h", **about, verdict="not found"
        )
    if blank[int(tops[0] * 2) % 48]:
        return refused("too little was listened to at that hour", **about)
    value = np.round(tops[0] * 2) / 2
    away = (tops[1:] - value + 12) % 24 - 12
    away = away[np.isfinite(away)]
    low, high = np.quantile(away, [(1 - LEVEL) / 2, (1 + LEVEL) / 2])
    if high - low > WIDEST_HOURS:
        return refused("no hour can be told from the rest of the day", **about)
    ends = min(np.floor(low * 2) / 2, -FINEST_HOURS), max(np.ceil(high * 2) / 2, FINEST_HOURS)
    hours = tuple(float(value + end) % 24 for end in (0, *ends))
    return _stated(fit, hours, rough=ends[1] - ends[0] > ROUGH_HOURS, about=about)


def _local_top(curve: np.ndarray, inside: np.ndarray) -> float:
    """Hour of the highest local maximum within `inside`, NaN if the curve has none there."""
    before, after = np.roll(curve, 1), np.roll(curve, -1)
    tops = np.flatnonzero((curve >= before) & (curve > after) & inside)
    if not len(tops):
        return np.nan
    top = tops[np.argmax(curve[tops])]
    bend = before[top] - 2 * curve[top] + after[top]
    return HALF_HOURS[top] + 0.25 * (before[top] - after[top]) / bend if bend < 0 else HALF_HOURS[top]


def _season_days(curve: np.ndarray, near: float) -> tuple[float, float, float]:
    """Season days of start, peak and end; NaN where one does not lie among the days listened to.

    The end of the listening is no peak: the chance must be seen to fall on both sides. The maximum is
    looked for within `SAME_SEASON` days of season day `near`, so that no draw takes winter for the season.
    """
    close = np.abs((SEASON_DAYS - near + 182.5) % 365 - 182.5) <= SAME_SEASON
    top = int(np.nanargmax(np.where(close, curve, np.nan)))
    start, end = _crossings(curve, top, SEASON_SHARE)
    return start, float(np.mean(_crossings(curve, top, PEAK_SHARE))), end


def _crossings(curve: np.ndarray, top: int, share: float) -> tuple[float, float]:
    """Season days on which a curve falls below a share of its top, before it and after it."""
    below = curve < share * curve[top]
    ends = []
    for step in (-1, 1):
        walk = (top + step * np.arange(1, len(curve) // 2)) % len(curve)
        stop = np.flatnonzero(below[walk] | np.isnan(curve[walk]))
        seen = len(stop) and not np.isnan(curve[walk[stop[0]]])
        ends.append(float(SEASON_DAYS[top] + step * stop[0]) if seen else np.nan)
    return ends[0], ends[1]


def _date(fit: Fit, days: np.ndarray, name: str) -> Estimate:
    """The first of `days` with an interval from the others, or in words why there is none."""
    about: dict[str, Any] = {
        "unit": "day of year",
        "n": len(fit.counts.seasons),
        "method": f"{fit.method}; season jackknife draws",
    }
    away = (days[1:] - days[0] + 182.5) % 365 - 182.5
    away = away[np.isfinite(away)]
    if np.isnan(days[0]) or len(away) < SEEN_SHARE * (len(days) - 1):
        return refused(f"the {name} does not lie within the days that were listened to", **about)
    low, high = np.quantile(away, [(1 - LEVEL) / 2, (1 + LEVEL) / 2])
    if high - low > WIDEST_DAYS:
        return refused(f"no date for the {name} can be told from the rest of the year", **about)
    value = float(calendar_day(days[0], fit.counts))
    n = len(fit.counts.seasons)
    least = t.ppf((1 + LEVEL) / 2, refit_groups(n) + 1) * DATE_SD / np.sqrt(n)
    low, high = min(low, -least), max(high, least)
    ends = float(np.floor(value + low)), float(np.ceil(value + high))
    return _stated(fit, (float(round(value)), *ends), rough=high - low > ROUGH_DAYS, about=about)


def _stated(fit: Fit, ends: tuple[float, ...], *, rough: bool, about: dict[str, Any]) -> Estimate:
    """An estimate with the fit's own verdict, provisional where its interval is wide."""
    reasons = [text for text in ("known only roughly" if rough else "", fit.verdict.reason) if text]
    value, low, high = ends
    verdict = "provisional" if rough else fit.verdict.status
    return Estimate(value, low, high, verdict=verdict, reason="; ".join(reasons), **about)
