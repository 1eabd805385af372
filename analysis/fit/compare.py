"""Seasons beside each other: usual or unusual, more or less than binomial, one month against another."""

from __future__ import annotations

import numpy as np
import pandas as pd
from scipy.special import expit
from scipy.stats import chi2, norm, t, ttest_ind

from analysis.fit.assess import monitored
from analysis.fit.counts import block_centre
from analysis.fit.curves import LEVEL, SEASON_SD, Fit, season_levels
from analysis.fit.estimate import Estimate, Series, refused
from analysis.fit.harmonics import design

NORMAL_LEVEL = 0.80  # "above normal" is said outside this share of what the other seasons predict
SEASONS_TO_COMPARE = 4
DAY_SHARE = 0.25  # of a day's half-hours listened to, for the day to count as monitored
VAGUE = 0.5  # standard error of the log index beyond which a season is not compared with others
GROWTH = "more stations that transmit also make a band look better"
PRIOR_SEASONS = 2  # weight of the assumed spread among the seasons seen


def season_days(cells: pd.DataFrame) -> pd.DataFrame:
    """Days of a series with a listener: columns `season season_day share open`, one row per day.

    `share` of the day's half-hours was listened to, `open` says whether a detection fell into them.
    Compare only days with `DAY_SHARE` or more: of the others only the lucky ones would show.
    """
    days = cells.assign(share=monitored(cells), open=monitored(cells) & (cells["n_detected"] > 0))
    days = days.groupby(["season", "season_day"]).agg({"share": "mean", "open": "any"})
    return days[days["share"] > 0].reset_index()


def comparable_days(cells: pd.DataFrame) -> pd.DataFrame:
    """The rows of `season_days` that were listened to for a quarter of the day or more."""
    days = season_days(cells)
    return days[days["share"] >= DAY_SHARE].reset_index(drop=True)


def predictive_range(
    opening_days: np.ndarray,
    monitored_days: np.ndarray,
    *,
    of_days: float,
    level: float = LEVEL,
    season_sd: float = SEASON_SD,
) -> tuple[float, float]:
    """Range for the opening days of a season not seen, out of `of_days`, from those of other seasons.

    On the scale of log odds, so that a season never has more opening days than days; the spread seen
    is mixed with an assumed one that counts as much as two seasons.

    Parameters
    ----------
    opening_days, monitored_days : array (seasons,)
    of_days : float
        Days listened to in the season to be foretold.
    level : float
        Share of seasons that fall inside.
    season_sd : float
        Assumed standard deviation between seasons.
    """
    opened = np.asarray(opening_days, float)
    odds = np.log((opened + 0.5) / (np.asarray(monitored_days, float) - opened + 0.5))
    middle, sd = _predictive(odds, season_sd)
    half = t.ppf((1 + level) / 2, len(odds) + 1) * sd
    low, high = np.round(of_days * expit([middle - half, middle + half]))  # days are whole
    return float(low), float(high)


def spread_ratio(opening_days: np.ndarray, monitored_days: np.ndarray) -> Estimate:
    """Spread of yearly opening days over what independent days would give (binomial), a ratio of sds."""
    opened, days = np.asarray(opening_days, float), np.asarray(monitored_days, float)
    share = opened.sum() / days.sum() if len(opened) else np.nan
    if len(opened) < 3 or not 0 < share < 1:
        return refused("fewer than three seasons with opening days", unit="times", n=len(opened))
    squared = (
        np.mean((opened - days * share) ** 2 / (days * share * (1 - share))) * len(opened) / (len(opened) - 1)
    )
    ends = (len(opened) - 1) * squared / chi2.ppf([(1 + LEVEL) / 2, (1 - LEVEL) / 2], len(opened) - 1)
    low, high = np.sqrt(ends)
    reason = "good and bad seasons differ more than chance would make them" if low > 1 else ""
    return Estimate(
        float(np.sqrt(squared)),
        float(low),
        float(high),
        "times",
        len(opened),
        "sd over binomial sd",
        "ok",
        reason,
    )


def season_rows(one: Series) -> pd.DataFrame:
    """Rows of `season.seasons_table` for one series."""
    fit, days = one.fit, season_days(one.cells)
    days["enough"] = days["share"] >= DAY_SHARE
    table = days.groupby("season").agg(opening_days=("open", "sum"), monitored_days=("enough", "sum"))
    table = table.reset_index().assign(**one.keys(), tier=one.tier, index=np.nan, low=np.nan, high=np.nan)
    if not len(fit.coef):
        if not len(table):
            blank = {"season": pd.NA, "opening_days": 0, "monitored_days": 0}
            table = pd.DataFrame([one.keys() | blank | {"tier": one.tier}])
        return table.assign(verdict="refuse", reason=fit.verdict.reason)
    level, error = season_index(fit)
    found = pd.DataFrame({"season": fit.counts.seasons, "level": level, "error": error})
    table = table.merge(found, on="season", how="left", validate="one_to_one")
    width = np.exp(norm.ppf((1 + LEVEL) / 2) * table["error"])
    table = table.assign(index=table["level"], low=table["level"] / width, high=table["level"] * width)
    # More activity makes more opening days, so without monitors the index is compared instead.
    by_index = one.tier == "B"
    measure = (
        np.log(table["level"].to_numpy())
        if by_index
        else _against_usual(days[days["enough"]], table["season"])
    )
    return table.assign(**_against_others(measure, table["error"].to_numpy(), one))


def season_index(fit: Fit) -> tuple[np.ndarray, np.ndarray]:
    """Chance of each season over the mean of all, and the standard error of its log.

    The error comes from how unevenly openings fall over five-day blocks, not from counting half-hours
    as if they were independent.
    """
    level = season_levels(fit)[0]
    opened = (
        fit.counts.classes.groupby("season_index")["open_bins"].sum().reindex(range(len(level)), fill_value=0)
    )
    return level / level.mean(), np.sqrt(max(block_dispersion(fit), 1.0) / np.maximum(opened.to_numpy(), 1))


def block_dispersion(fit: Fit) -> float:
    """How many times the spread of five-day totals exceeds that of independent half-hours."""
    counts, classes = fit.counts, fit.counts.classes
    hour, day = classes["half"].to_numpy() / 2 + 0.25, block_centre(classes["block"].to_numpy())
    grid = design(hour, day, harmonics=fit.harmonics)
    season = classes["season_index"].to_numpy()
    effects = fit.coef[grid.shape[1] : grid.shape[1] + len(counts.seasons)]
    rate = expit(grid @ fit.coef[: grid.shape[1]] + effects[season]) * _noticed(fit)
    block = classes.assign(
        expected=classes["bins"] * rate,
        variance=classes["bins"] * rate * (1 - rate),
        observed=classes["open_bins"],
    )
    sums = block.groupby(["season_index", "block"])[["expected", "variance", "observed"]].sum()
    return float(((sums["observed"] - sums["expected"]) ** 2).sum() / sums["variance"].sum())


def index_trend(fit: Fit) -> Estimate:
    """Change of the season index per year, as a share of it."""
    seasons = fit.counts.seasons
    if len(fit.coef) == 0 or len(seasons) < SEASONS_TO_COMPARE:
        return refused(f"a trend needs at least {SEASONS_TO_COMPARE} seasons", unit="share", n=len(seasons))
    y, x = np.log(season_index(fit)[0]), seasons - seasons.mean()
    slope = x @ y / (x @ x)
    error = np.sqrt(((y - y.mean() - slope * x) ** 2).sum() / (len(x) - 2) / (x @ x))
    half = t.ppf((1 + LEVEL) / 2, len(x) - 2) * error
    reason = "; ".join(text for text in (GROWTH, fit.verdict.reason) if text)
    return Estimate(
        float(np.expm1(slope)),
        float(np.expm1(slope - half)),
        float(np.expm1(slope + half)),
        "share",
        len(seasons),
        "line through the log season index; per year",
        fit.verdict.status,
        reason,
    )


def compare_seasons(cells: pd.DataFrame, *, first: int, second: int) -> pd.DataFrame:
    """Two seasons month by month, without being fooled by openings that come in runs.

    Half-hours of one fine week are not independent, so five-day blocks are compared (Welch's t), and
    the months together are held to one error rate (Holm).

    Returns
    -------
    DataFrame
        `season_day` (first of the 30 days) `share_first share_second n_blocks p p_holm verdict`,
        verdict more, fewer or cannot tell for the second season against the first.
    """
    listened = cells[monitored(cells) & cells["season"].isin([first, second])]
    listened = listened.assign(part=(listened["season_day"] + 183) // 30, heard=listened["n_detected"] > 0)
    blocks = listened.groupby(["part", "season", "block"])["heard"].mean()
    rows = []
    for part in blocks.index.unique("part"):
        share = blocks.loc[part]
        a, b = (
            share[share.index.get_level_values("season") == season].to_numpy() for season in (first, second)
        )
        if min(len(a), len(b)) >= 2 and np.ptp(np.r_[a, b]) > 0:
            p = 1.0 if np.ptp(a) == np.ptp(b) == 0 else ttest_ind(a, b, equal_var=False).pvalue
            rows.append((int(part) * 30 - 183, a.mean(), b.mean(), len(a) + len(b), p))
    table = pd.DataFrame(rows, columns=["season_day", "share_first", "share_second", "n_blocks", "p"])
    table["p_holm"] = holm(table["p"].to_numpy())
    more = np.where(table["share_second"] > table["share_first"], "more", "fewer")
    return table.assign(verdict=np.where(table["p_holm"] <= 0.05, more, "cannot tell"))


def holm(p: np.ndarray) -> np.ndarray:
    """Holm's adjusted p values, in the order given (Holm 1979, Scand. J. Statist. 6, 65)."""
    p = np.asarray(p, float)
    order = np.argsort(p)
    adjusted = np.minimum(np.maximum.accumulate(p[order] * np.arange(len(p), 0, -1)), 1)
    return adjusted[np.argsort(order)]


def _predictive(values: np.ndarray, season_sd: float) -> tuple[float, float]:
    """Mean and standard deviation of a further value like these."""
    n = len(values)
    seen = values.var(ddof=1) if n > 1 else 0.0
    variance = (PRIOR_SEASONS * season_sd**2 + (n - 1) * seen) / (n - 1 + PRIOR_SEASONS)
    return float(values.mean()), float(np.sqrt(variance * (1 + 1 / n)))


def _against_usual(days: pd.DataFrame, seasons: pd.Series) -> np.ndarray:
    """Log of opening days over those usual on the days listened to: a season of June alone is not better."""
    usual = days.groupby("season_day")["open"].agg(["sum", "size"]).reindex(range(-183, 184), fill_value=0)
    smoothed = usual.rolling(31, center=True, min_periods=1).sum()
    share = ((smoothed["sum"] + 0.5) / (smoothed["size"] + 1)).loc[days["season_day"]].to_numpy()
    by = days.assign(usual=share).groupby("season")[["open", "usual"]].sum()
    by = by.reindex(seasons)
    return np.log((by["open"].to_numpy() + 0.5) / (by["usual"].to_numpy() + 0.5))


def _against_others(measure: np.ndarray, error: np.ndarray, one: Series) -> dict:
    """Verdict and reason of each season, each judged by the others."""
    known = np.isfinite(measure)
    if known.sum() < SEASONS_TO_COMPARE:
        reason = f"what is normal needs at least {SEASONS_TO_COMPARE} seasons with whole days of listening"
        return {"verdict": "provisional", "reason": reason}
    verdicts = []
    for left in range(len(measure)):
        others = measure[known & (np.arange(len(measure)) != left)]
        middle, sd = _predictive(others, SEASON_SD)
        half = t.ppf((1 + NORMAL_LEVEL) / 2, len(others) + 1) * sd
        away = measure[left] - middle
        verdicts.append("normal" if abs(away) <= half else "above" if away > 0 else "below")
    vague = ~known | (error > VAGUE)
    reasons = np.where(vague, "too little listening or too few openings to compare", one.fit.verdict.reason)
    return {"verdict": np.where(vague, "provisional", verdicts), "reason": reasons}


def _noticed(fit: Fit) -> np.ndarray:
    """Chance that an open half-hour of each class shows a detection."""
    counts = fit.counts
    trend = counts.seasons - counts.seasons.mean() if len(counts.seasons) > 2 else 0 * counts.seasons
    slot = expit(fit.coef[-2] + fit.coef[-1] * trend)[counts.classes["season_index"]]
    return 1 - (1 - slot) ** (counts.classes["slots"] / counts.classes["bins"]).to_numpy()
