"""Every season beside the others, by measures that do not grow with the number of stations.

A receiver that joins hears corners that the others do not, so where receivers came or went seasons are
compared by those that ran in all of them. Stations that transmit cannot be held fixed; what their
growth alone could do is told.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd
from scipy.special import expit
from scipy.stats import norm, t

from analysis.find.days import cell_days
from analysis.fit.compare import (
    SEASONS_TO_COMPARE,
    predictive,
)
from analysis.fit.estimate import Estimate, Series, refused
from analysis.fit.model.counts import block_centre
from analysis.fit.model.curves import LEVEL, SEASON_SD, Fit, season_levels
from analysis.fit.model.harmonics import design
from analysis.fit.nature import HOURS_SPREAD, PRIOR_SEASONS, log_days_spread

NORMAL_LEVEL = 0.80  # "above normal" is said outside this share of what the other seasons predict
VAGUE = 0.5  # standard error of the log index beyond which a season is not compared with others
UNKNOWN = 1.0  # and beyond which its index is blank
STEADY = "compared by the receivers that ran in every season"
UNSTEADY = "receivers came and went, and those that ran in every season do not carry a comparison"
GROWTH = "there were {:.0%} more senders each year, which alone makes a band look better"
LEAK = 0.1  # of the growth of senders that watched paths may fail to allow for (`benchmarks/truth.py`)


def season_rows(one: Series) -> pd.DataFrame:
    """Rows of `season.seasons_table` for one series."""
    days = one.days
    table = days.groupby("season").agg(opening_days=("open", "sum"), monitored_days=("listened", "sum"))
    table = table.reset_index().assign(**one.keys(), tier=one.tier, index=np.nan, low=np.nan, high=np.nan)
    if not len(table):
        blank = {"season": pd.NA, "opening_days": 0, "monitored_days": 0}
        table = pd.DataFrame([one.keys() | blank | {"tier": one.tier}])
    fit = one.steady_fit
    if not len(fit.coef):
        return table.assign(**_silent(one))
    level, error = season_index(fit)
    found = pd.DataFrame({"season": fit.counts.seasons, "index": level, "error": error})
    table = table.drop(columns="index").merge(found, on="season", how="left", validate="one_to_one")
    table["index"] = table["index"].where(table["error"] <= UNKNOWN)
    width = np.exp(norm.ppf((1 + LEVEL) / 2) * table["error"].clip(upper=UNKNOWN))
    table = table.assign(low=table["index"] / width, high=table["index"] * width)
    measure, spread = _measure(one, table)
    return table.assign(**_against_others(measure, table["error"].to_numpy(), one, spread=spread))


def season_index(fit: Fit) -> tuple[np.ndarray, np.ndarray]:
    """Chance of each season over the mean of all, and the standard error of its log.

    The error comes from how unevenly openings fall over five-day blocks, not from counting half-hours
    as if they were independent.
    """
    level = season_levels(fit)[0]
    opened = np.bincount(fit.counts.classes["season_index"], fit.counts.classes["open_bins"], len(level))
    return level / level.mean(), np.sqrt(max(block_dispersion(fit), 1.0) / np.maximum(opened, 1))


def block_dispersion(fit: Fit) -> float:
    """How many times the spread of five-day totals exceeds that of independent half-hours."""
    counts, classes = fit.counts, fit.counts.classes
    hour, day = classes["half"].to_numpy() / 2 + 0.25, block_centre(classes["block"].to_numpy())
    grid = design(hour, day, harmonics=fit.harmonics)
    season = classes["season_index"].to_numpy()
    effects = fit.coef[grid.shape[1] : grid.shape[1] + len(counts.seasons)]
    rate = expit(grid @ fit.coef[: grid.shape[1]] + effects[season]) * fit.noticed
    block = classes.assign(
        expected=classes["bins"] * rate,
        variance=classes["bins"] * rate * (1 - rate),
        observed=classes["open_bins"],
    )
    sums = block.groupby(["season_index", "block"])[["expected", "variance", "observed"]].sum()
    return float(((sums["observed"] - sums["expected"]) ** 2).sum() / sums["variance"].sum())


def index_trend(one: Series, *, season_sd: float = SEASON_SD) -> Estimate:
    """Change of the season index per year, as a share of it.

    Seasons differ by an assumed spread and by the luck of few openings; both weigh as much as two
    seasons beside what is seen, so that six points on a line by luck are no trend. It rises only
    if it rises faster than the effort of senders can explain, and cannot tell otherwise: all of their
    growth, or a tenth of it where the index allows for it.
    """
    fit, seasons = one.steady_fit, one.steady_fit.counts.seasons
    about: dict[str, Any] = {"unit": "share", "n": len(seasons)}
    if not len(fit.coef):
        return refused(_silent(one)["reason"], **about)
    if len(seasons) < SEASONS_TO_COMPARE:
        return refused(f"a trend needs at least {SEASONS_TO_COMPARE} seasons", **about)
    level, error = season_index(fit)
    slope, scatter = _line(np.log(level), seasons)
    prior = season_sd**2 + np.minimum(error, VAGUE) @ np.minimum(error, VAGUE) / len(error)
    variance = (PRIOR_SEASONS * prior + scatter) / (len(seasons) - 2 + PRIOR_SEASONS)
    half = t.ppf((1 + LEVEL) / 2, len(seasons)) * np.sqrt(variance) / _reach(seasons)
    growth = _growth(one)
    guard = growth if one.thinned is None else LEAK * growth
    rises, falls = slope - half > guard, slope + half < 0
    reasons = [STEADY] * (one.steady is not None)
    reasons += [GROWTH.format(np.expm1(growth))] * (slope > 0 and growth > 0.01)
    value, low, high = (float(np.expm1(end)) for end in (slope, slope - half, slope + half))
    return Estimate(
        *(value, low, high),
        method="line through the log season index; per year",
        verdict="rising" if rises else "falling" if falls else "cannot tell",
        reason="; ".join(filter(None, [*reasons, fit.verdict.reason])),
        **about,
    )


def _growth(one: Series) -> float:
    """Growth of the log of senders' effort per year by the measure that grows fastest; not below zero."""
    if one.senders is None:
        return 0.0
    known = one.senders[one.senders.index.isin(one.steady_fit.counts.seasons)]
    return max(
        0.0, *(_line(np.log(np.maximum(known[name], 0.5)), known.index.to_numpy())[0] for name in known)
    )


def _line(y: np.ndarray, x: np.ndarray) -> tuple[float, float]:
    """Slope of a straight line and the sum of squares about it."""
    x, y = x - np.mean(x), np.asarray(y, float) - np.mean(y)
    slope = x @ y / max(x @ x, 1e-9)
    return float(slope), float(((y - slope * x) ** 2).sum())


def _reach(x: np.ndarray) -> float:
    return float(np.sqrt(((x - x.mean()) ** 2).sum()))


def _silent(one: Series) -> dict[str, str]:
    """Verdict and reason where no season can be set against another."""
    reason = one.steady_fit.verdict.reason
    if len(one.fit.coef):
        return {"verdict": "provisional", "reason": f"{UNSTEADY}: {reason}"}
    return {"verdict": "refuse", "reason": one.fit.verdict.reason}


def _measure(one: Series, table: pd.DataFrame) -> tuple[np.ndarray, float]:
    """What seasons are compared by (a log), and its usual spread: opening days where monitors ran."""
    if one.tier == "B":
        # More activity makes more opening days, so without monitors the index is compared instead.
        luck = table["error"].clip(upper=VAGUE).mean()
        return np.log(table["index"].to_numpy()), float(np.hypot(HOURS_SPREAD[one.mechanism], luck))
    days = one.days if one.steady is None else cell_days(one.steady)
    days = days[days["listened"]]
    measure = _against_usual(days, table["season"])
    measure[table["error"].isna()] = np.nan  # a few days of a season are not one of its own
    counted = days[days["season"].isin(table["season"][np.isfinite(measure)])].groupby("season")["open"]
    opened = counted.sum().to_numpy()
    return measure, log_days_spread(opened, counted.size().to_numpy(), mechanism=one.mechanism)


def _against_usual(days: pd.DataFrame, seasons: pd.Series) -> np.ndarray:
    """Log of opening days over those usual on the days listened to: a season of June alone is not better."""
    usual = days.groupby("season_day")["open"].agg(["sum", "size"]).reindex(range(-183, 184), fill_value=0)
    smoothed = usual.rolling(31, center=True, min_periods=1).sum()
    share = ((smoothed["sum"] + 0.5) / (smoothed["size"] + 1)).loc[days["season_day"]].to_numpy()
    by = days.assign(usual=share).groupby("season")[["open", "usual"]].sum()
    by = by.reindex(seasons)
    return np.log((by["open"].to_numpy() + 0.5) / (by["usual"].to_numpy() + 0.5))


def _against_others(measure: np.ndarray, error: np.ndarray, one: Series, *, spread: float) -> dict:
    """Verdict and reason of each season, judged by the others and by the usual spread, and what it was judged by."""
    known = np.isfinite(measure)
    if known.sum() < SEASONS_TO_COMPARE:
        reason = f"what is normal needs at least {SEASONS_TO_COMPARE} seasons with whole days of listening"
        return {"verdict": "provisional", "reason": reason}
    verdicts, usual = [], []
    for left in range(len(measure)):
        others = measure[known & (np.arange(len(measure)) != left)]
        middle, sd = predictive(others, spread)
        half = t.ppf((1 + NORMAL_LEVEL) / 2, len(others) + 1) * sd
        usual.append((middle - half, middle + half))
        away = measure[left] - middle
        verdicts.append("normal" if abs(away) <= half else "above" if away > 0 else "below")
    vague = ~known | ~(error <= VAGUE)
    reasons = np.where(vague, "too little listening or too few openings to compare", one.fit.verdict.reason)
    ratios = dict(
        zip(("compared", "usual_low", "usual_high"), np.exp([measure, *np.transpose(usual)]), strict=True)
    )
    return {"verdict": np.where(vague, "provisional", verdicts), "reason": reasons, **ratios}
