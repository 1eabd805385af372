"""Every single number that a review states about a series, each with interval, method and verdict."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import asdict
from typing import Any

import pandas as pd

from analysis.fit.assess import seasons_covered
from analysis.fit.compare import predictive_range, spread_ratio
from analysis.fit.estimate import Estimate, Series, refused
from analysis.fit.peaks import hour_peaks, season_dates
from analysis.fit.rule_of_thumb import rule_of_thumb
from analysis.fit.season_index import index_trend
from analysis.fit.winter import winter_rise

COLUMNS = [
    *["what", "band", "mechanism", "path_type", "value", "low", "high", "unit"],
    *["n", "method", "tier", "verdict", "reason"],
]


def estimates_table(series: Sequence[Series]) -> pd.DataFrame:
    """Peaks, season dates, winter season, rule of thumb, index trend of every series.

    Returns
    -------
    DataFrame
        `what band mechanism path_type value low high unit n method tier verdict reason`. Hours are on
        the series' axis, dates are days of a common year (unit `day of year`), contrasts are ratios
        of chances. A refused estimate has blank numbers and a reason.
    """
    rows = [_row(one, what, found) for one in series for what, found in _estimates(one).items()]
    rows += list(_rules(series))
    return pd.DataFrame(rows, columns=COLUMNS)


def _estimates(one: Series) -> dict[str, Estimate]:
    fit = one.fit
    if not len(fit.coef):
        return {"season and hours": refused(fit.verdict.reason)}
    found = hour_peaks(fit, mechanism=one.mechanism, axis=one.axis) | season_dates(fit)
    if one.mechanism == "ES":
        found["winter rise"] = winter_rise(one)
    return found | _opening_days(one) | {"index trend": index_trend(one)}


def _opening_days(one: Series) -> dict[str, Estimate]:
    """How unevenly the seasons fared, and the opening days that a further season like these would bring."""
    names = ("spread between seasons", "opening days of a further season")
    days = one.days[one.days["listened"]]
    days = days[days["season"].isin(seasons_covered(days["season"]))]
    days = days.groupby("season")["open"].agg(["sum", "size"])
    if one.tier != "A":
        return dict.fromkeys(names, refused("opening days grow with the number of listeners"))
    if not len(days):
        return dict.fromkeys(names, refused("no day was listened to for a quarter of its hours"))
    counted = days["sum"].to_numpy(), days["size"].to_numpy()
    of_days = float(days["size"].max())
    options: dict[str, Any] = {"of_days": of_days, "mechanism": one.mechanism}
    low, high = predictive_range(*counted, **options)
    middle = predictive_range(*counted, level=0.0, **options)[0]
    method = f"range of past seasons, for {of_days:.0f} days listened to"
    verdict = one.fit.verdict
    ahead = Estimate(middle, low, high, "days", len(days), method, verdict.status, verdict.reason)
    return dict(zip(names, (spread_ratio(*counted), ahead), strict=True))


def _rules(series: Sequence[Series]) -> Iterable[dict]:
    tropo = [one for one in series if one.mechanism == "TR"]
    for band in dict.fromkeys(one.band for one in tropo):
        of_band = [one for one in tropo if one.band == band]
        by_path = {one.path_type: one for one in of_band}
        for what, found in rule_of_thumb(of_band).items():
            yield _row(by_path["sea" if "sea paths" in what else "land"], what, found)


def _row(one: Series, what: str, found: Estimate) -> dict:
    return {"what": what, **one.keys(), "tier": one.tier, **asdict(found)}
