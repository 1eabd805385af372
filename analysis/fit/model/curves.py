"""Curves of the chance of an open half-hour, with intervals that come from whole seasons left out."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np
import pandas as pd
from scipy.special import expit
from scipy.stats import t

from analysis.fit.assess import Verdict
from analysis.fit.model.counts import BLOCK_DAYS, FIRST_DAY, Counts
from analysis.fit.model.harmonics import HALF_HOURS, SEASON_DAYS, design

SEASON_SD = 0.45  # assumed spread of the log chance between seasons, where the data cannot say
BINS_NEEDED = 20  # monitored half-hours below which a class is left blank
WEEK_NEEDED = 4  # judgement: two hours of listening in a week are hardly listening
LEAST_NOTICED = 0.1  # of open half-hours that would have shown: where fewer, hardly anybody could notice
GAP_DAYS = 30  # a longer stretch without listening is cut out of the season
LEVEL = 0.90  # the level of every interval of a review
WIDEST = 10.0  # a wider factor that also reaches above the interval of the curve's top says nothing
MOST_REFITS = 16  # speed
MOST_ERROR = 10.0  # of a log chance: nothing is known of it


@dataclass(frozen=True)
class Fit:
    """A fitted series: coefficients (cycles, season effects, detection) and one row of them per refit.

    `coef` is empty where `verdict` refuses; `doubtful` is the share of half-hours that false reports alone
    would open; `noticed` the chance that an open half-hour of each class (of `counts.classes`) shows a report.
    """

    verdict: Verdict
    counts: Counts
    harmonics: tuple
    coef: np.ndarray = field(default_factory=lambda: np.empty(0))
    refits: np.ndarray = field(default_factory=lambda: np.empty((0, 0)))
    method: str = ""
    doubtful: float = 0.0
    noticed: np.ndarray = field(default_factory=lambda: np.empty(0))


def curve(fit: Fit, *, by: str = "hour", season_sd: float = SEASON_SD) -> pd.DataFrame:
    """Chance of an open half-hour by hour or by season day.

    Parameters
    ----------
    fit : Fit
    by : str
        hour: averaged over the season days that were listened to; season_day: averaged over all hours.
    season_sd : float
        Assumed between-season standard deviation of the log chance; the floor of every interval.

    Returns
    -------
    DataFrame
        `x` (hour or season day), `chance low high` (90 % interval), `n_monitored` half-hours,
        `bound_low bound_high` (what the data allow if the unmonitored half-hours were all shut, or
        all open). Blank where too little was listened to, at hours at which fewer than a tenth of the open
        half-hours would have been noticed, or where the fit is refused.

    Examples
    --------
    >>> from analysis import curve, fit_occupancy, half_hours, open_tables
    >>> season = open_tables(None)  # the demo; the folder of your own review's tables in its place
    >>> cells = half_hours(season.spots, season.listening, band="6m", mechanism="ES")
    >>> by_hour = curve(fit_occupancy(cells, tier="A"), by="hour")
    >>> bool((by_hour["low"] <= by_hour["chance"]).all())
    True
    """
    x, coverage, blank = _frame(fit, by)
    table = pd.DataFrame({"x": x, "chance": np.nan, "low": np.nan, "high": np.nan})
    table["n_monitored"] = coverage["monitored"].to_numpy()
    if len(fit.coef):
        whole = chances(fit, by=by)[0]
        refits, n_seasons = all_refits(fit, by=by), len(fit.counts.seasons)
        error = standard_error(whole, refits, listened=~blank, n_seasons=n_seasons, season_sd=season_sd)
        factor = np.exp(error * t.ppf((1 + LEVEL) / 2, refit_groups(len(fit.counts.seasons)) + 1))
        # The true rate of false reports is not known, so they may be all that is seen of a small chance.
        low, high = np.maximum(whole / factor - fit.doubtful, 0), np.minimum(whole * factor, 1)
        table["chance"], table["low"], table["high"] = whole, low, high
        silent = blank | ((factor > WIDEST) & (high > high[np.argmax(np.where(blank, 0, whole))]))
        table.loc[silent, ["chance", "low", "high"]] = np.nan
    return table.join(_bounds(coverage))


def chances(
    fit: Fit, *, by: str, betas: np.ndarray | None = None, seasons: np.ndarray | None = None
) -> np.ndarray:
    """Curves of several sets of coefficients, averaged over seasons with equal weight.

    Parameters
    ----------
    by : str
        hour (averaged over the season days listened to) or season_day (averaged over all hours); every
        half-hour counts the same, so on the sun axis a long summer day weighs more in the daytime.
    betas : array (sets, columns), optional
        Coefficients; the fit's own by default.
    seasons : array (sets, seasons) of bool, optional
        Which seasons each set averages over; all by default.

    Returns
    -------
    array (sets, 48 half-hours or 365 season days)
    """
    grid, share = _grid(fit, by)
    along = 1 if by == "season_day" else 0
    share = share / share.sum(axis=along, keepdims=True)

    def pool(chance: np.ndarray) -> np.ndarray:
        return (chance.reshape(-1, *share.shape) * share).sum(axis=1 + along)

    return over_seasons(fit, grid, pool, betas=betas, seasons=seasons)


def over_seasons(
    fit: Fit,
    rows: np.ndarray,
    pool: Callable[[np.ndarray], np.ndarray],
    *,
    betas: np.ndarray | None = None,
    seasons: np.ndarray | None = None,
) -> np.ndarray:
    """Chances at the rows of a design, pooled, then averaged over seasons with equal weight.

    Parameters
    ----------
    rows : array (rows, columns)
        From `harmonics.design`, with the fit's own harmonics.
    pool : callable
        Chances of one season (sets, rows) to what is wanted of them (sets, values).
    betas, seasons : array, optional
        As in `chances`.

    Returns
    -------
    array (sets, values)
    """
    betas = fit.coef[None] if betas is None else np.atleast_2d(betas)
    columns = rows.shape[1]
    eta = betas[:, :columns] @ rows.T
    effects = betas[:, columns : columns + len(fit.counts.seasons)]
    weights = np.ones_like(effects) if seasons is None else seasons.astype(float)
    weights = weights / weights.sum(axis=1, keepdims=True)
    each = zip(effects.T, weights.T, strict=True)
    return np.sum([weight[:, None] * pool(expit(eta + effect[:, None])) for effect, weight in each], axis=0)


def refit_groups(n_seasons: int) -> int:
    """How many refits leave seasons out: one season at a time up to 16, beyond that equal groups of them."""
    return min(n_seasons, MOST_REFITS)


def all_refits(fit: Fit, *, by: str) -> np.ndarray:
    """The curve of every refit, one row each, without the seasons that it left out."""
    return chances(fit, by=by, betas=fit.refits, seasons=kept_seasons(fit))


def kept_seasons(fit: Fit) -> np.ndarray:
    """Which seasons every refit is of, array (refits, seasons) of bool; a lone season is never left out."""
    n_seasons = len(fit.counts.seasons)
    if n_seasons == 1:
        return np.ones((len(fit.refits), 1), bool)
    groups = refit_groups(n_seasons)
    return np.arange(n_seasons) % groups != np.arange(groups)[:, None]


def season_levels(fit: Fit, *, betas: np.ndarray | None = None) -> np.ndarray:
    """Mean chance of each season over the same hours and listened days, array (sets, seasons)."""
    betas = fit.coef[None] if betas is None else np.atleast_2d(betas)
    grid, share = _grid(fit, "hour")
    share = share.ravel() / share.sum()
    eta = betas[:, : grid.shape[1]] @ grid.T
    effects = betas[:, grid.shape[1] : grid.shape[1] + len(fit.counts.seasons)]
    return np.stack([expit(eta + effect[:, None]) @ share for effect in effects.T], axis=1)


def standard_error(
    whole: np.ndarray,
    refits: np.ndarray,
    *,
    listened: np.ndarray,
    n_seasons: int,
    season_sd: float = SEASON_SD,
) -> np.ndarray:
    """Standard error of the log of each value, by the delete-one-season jackknife with a floor.

    A class is never surer than the `listened` part of the curve as a whole (whose jackknife is steadier)
    nor than the assumed spread between seasons allows. Where nobody listened the refits may differ by
    orders of magnitude, which says nothing about the rest. A lone season shows nothing of that spread,
    so it is added.
    """
    spread = (np.log(refits) - np.log(whole)) ** 2
    squared = (len(refits) - 1) / len(refits) * spread.sum(axis=0)
    pooled = np.average(squared[listened], weights=whole[listened]) if listened.any() else 0.0
    assumed = season_sd**2 / n_seasons
    squared = np.minimum(np.maximum(squared, pooled), MOST_ERROR**2)
    return np.sqrt(squared + assumed if n_seasons == 1 else np.maximum(squared, assumed))


def _grid(fit: Fit, by: str) -> tuple[np.ndarray, np.ndarray]:
    """Design rows over days and hours, and how much each counts; the averaged-out side is coarser."""
    listened = listened_days(fit.counts, bridged=1)
    days = SEASON_DAYS if by == "season_day" else SEASON_DAYS[listened][::5]
    hours = HALF_HOURS[::2] + 0.25 if by == "season_day" else HALF_HOURS
    rows = design(np.tile(hours, len(days)), np.repeat(days, len(hours)), harmonics=fit.harmonics)
    share = fit.counts.stretch[(days - FIRST_DAY) // BLOCK_DAYS]
    return rows, share[:, ::2] + share[:, 1::2] if by == "season_day" else share


def _frame(fit: Fit, by: str) -> tuple[np.ndarray, pd.DataFrame, np.ndarray]:
    """Places, coverage and blanks of a curve."""
    counts = fit.counts
    if by == "hour":
        blank = (counts.by_hour["monitored"].to_numpy() < BINS_NEEDED) | (_noticed(fit) < LEAST_NOTICED)
        return HALF_HOURS, counts.by_hour.reset_index(drop=True), blank
    if by == "season_day":
        return SEASON_DAYS, counts.by_day.reset_index(drop=True), ~listened_days(counts)
    raise ValueError(f"by is hour or season_day, not {by!r}")


def _noticed(fit: Fit) -> np.ndarray:
    """Chance by half-hour that an opening would have shown, on days on which the best manned were."""
    if not len(fit.noticed):
        return np.ones(len(HALF_HOURS))
    classes = fit.counts.classes
    shown = np.bincount(classes["half"], classes["bins"] * fit.noticed, len(HALF_HOURS))
    return shown / fit.counts.by_hour["monitored"].max()


def listened_days(counts: Counts, *, bridged: int = GAP_DAYS) -> np.ndarray:
    """Mask of the season days that do not lie in a stretch of more than `bridged` days without listening.

    A day counts as listened to with at least `WEEK_NEEDED` monitored half-hours in its week, all seasons
    together. The year is a circle, so a stretch may run through the winter solstice.
    """
    monitored = counts.by_day["monitored"].to_numpy()
    week = sum(np.roll(monitored, shift) for shift in range(-3, 4))
    heard = np.flatnonzero(week >= WEEK_NEEDED)
    mask = np.zeros(len(monitored), bool)
    if len(heard):
        steps = np.diff(np.r_[heard, heard[0] + len(mask)])
        for day, step in zip(heard, steps, strict=True):
            reach = step if step <= bridged + 1 else 1
            mask[np.arange(day, day + reach) % len(mask)] = True
    return mask


def _bounds(coverage: pd.DataFrame) -> pd.DataFrame:
    """Chance if every unmonitored half-hour was shut, and if it was open."""
    bins = coverage["bins"].where(coverage["bins"] > 0)
    low = coverage["open_bins"] / bins
    return pd.DataFrame({"bound_low": low, "bound_high": low + (bins - coverage["monitored"]) / bins})
