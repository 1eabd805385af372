"""What the numbers of a review are held against: left-out seasons, one another, the published maps."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import pandas as pd

from analysis.find.cells import reference_point
from analysis.fit.ahead.calibration import recalibrated
from analysis.fit.ahead.days import DaySeries
from analysis.fit.ahead.verify import back_test, reliability, scores
from analysis.fit.climatology import FREQUENCY_MHZ, overlay, published_curve, published_foes, support_chance
from analysis.fit.compare import compare_seasons
from analysis.fit.daily import stacked
from analysis.fit.estimate import Series
from analysis.fit.peaks import date_text

DAYS = ["band", "mechanism", "direction", "at_least"]
SERIES = ["band", "mechanism", "path_type"]
VERIFICATION = [*DAYS, "score", "against", "value", "low", "high", "seasons", "windows"]
RELIABILITY = [*DAYS, "tenth", "n", "chance", "share", "low", "high", "seasons"]
SHARES = ["share_first", "share_second", "n_blocks", "p", "p_holm", "verdict"]
COMPARED = [*SERIES, "first", "second", "season_day", "date", *SHARES]
PUBLISHED = [*SERIES, "by", "x", "own", "own_low", "own_high", "published", "disagrees"]


def verified(days: Sequence[DaySeries], windows: pd.DataFrame) -> tuple[pd.DataFrame, pd.DataFrame]:
    """How forecasts of left-out seasons did, for every series whose chances are stated.

    Chances are corrected as those of the windows are, each season's by the others.

    Returns
    -------
    verification, reliability : DataFrame
        `fit.verify.scores` and `fit.verify.reliability`, with `band mechanism direction` before them.
    """
    scored, relied = [], []
    for one, at_least in _asked(days, windows):
        forecasts = recalibrated(back_test(one.days, counts=(at_least,)))
        scored.append(scores(forecasts).assign(**one.keys()))
        seasons = forecasts["season"].nunique()
        relied.append(reliability(forecasts).assign(**one.keys(), seasons=seasons))
    return stacked(scored, VERIFICATION), stacked(relied, RELIABILITY)


def compared(series: Sequence[Series]) -> pd.DataFrame:
    """The newest season of every series against the one before it, month by month.

    Returns
    -------
    DataFrame
        `band mechanism path_type first second season_day date` and the columns of
        `fit.compare.compare_seasons`; nothing of a series that is refused or has one season only.
    """
    found = []
    for one in _carrying(series):
        seasons = one.steady_fit.counts.seasons
        if len(seasons) >= 2:
            first, second = (int(season) for season in seasons[-2:])
            table = compare_seasons(
                one.cells if one.steady is None else one.steady, first=first, second=second
            )
            date = date_text(table["season_day"].to_numpy(), one.fit.counts).to_numpy()
            found.append(table.assign(**one.keys(), first=first, second=second, date=date))
    return stacked(found, COMPARED)


def published(series: Sequence[Series], spots: pd.DataFrame) -> pd.DataFrame:
    """Own curves of sporadic E beside the published maps of foEs, as shapes.

    Returns
    -------
    DataFrame
        `band mechanism path_type by` ("hour" or "season_day") and the columns of
        `fit.climatology.overlay`; empty where the maps are not installed.
    """
    found = []
    for one in _carrying(series):
        if one.mechanism == "ES" and one.band in FREQUENCY_MHZ:
            lon, lat = reference_point(spots, **one.keys())
            try:
                foes = published_foes(lat=lat, lon=lon)
            except ImportError:
                break
            chance = support_chance(foes, freq_mhz=FREQUENCY_MHZ[one.band])
            found += [
                overlay(one.fit, published_curve(foes, chance, one.fit, by=by), by=by).assign(
                    **one.keys(), by=by
                )
                for by in ("hour", "season_day")
            ]
    return stacked(found, PUBLISHED)


def _asked(days: Sequence[DaySeries], windows: pd.DataFrame) -> Iterator[tuple[DaySeries, int]]:
    """Each series that has chances, and the count of opening days that they are of."""
    for one in days:
        asked = windows.loc[(windows[list(one.keys())] == one.keys()).all(axis=1), "at_least"].dropna()
        if one.verdict.status != "refuse" and len(asked):
            yield one, int(asked.iloc[0])


def _carrying(series: Sequence[Series]) -> list[Series]:
    return [one for one in series if one.fit.verdict.status != "refuse"]
