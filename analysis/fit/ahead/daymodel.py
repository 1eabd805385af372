"""Chance that a day is an opening day: season of the year, days since the last one, and the season's own level.

logit P(open on day d) = smooth yearly curve(d) + step(days since the last opening day) + u(season).

The yearly curve is a sum of harmonics whose bending is penalised; how much, the data decide (by their
marginal likelihood), since sporadic E has a steep season and tropo a gentle one. It may be penalised
more where few days are open, so that a handful of winter openings is not read as a pattern while the
start and end of the season stay steep. Or it follows the usual course of a season of sporadic E
(`nature.USUAL_SEASON`), whose parts are weighed by the data and departures from it penalised: then one
season goes nearly twice as far. Days since the last opening fall into four classes, so that
openings may come in spells of up to a week and every chance can be worked out exactly rather than by
drawing lots.

The constants were chosen on a 48-year ionosonde series and on simulated seasons; `benchmarks/windows.py`
measures what they give on both.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd
from scipy.special import expit

from analysis.fit.model.curves import SEASON_SD
from analysis.fit.model.glm import irls
from analysis.fit.model.harmonics import DAYS, SEASON_DAYS, cycle
from analysis.fit.nature import USUAL_SEASON

ORDER = 8  # harmonics of the year; the penalty decides how much of them is used
# Candidates: weight of the mean squared second derivative, power by which it grows where the information
# p(1-p) of a day is small, and whether it is of the departure from the usual season. Weights in between
# are too near for the likelihood to choose well; a stiffer hold on the usual season was .004 better on an
# ionosonde series and .025 worse in simulated ones.
BENDINGS = ((0.03, 0.0, False), (3.0, 0.0, False), (0.3, 0.0, True))
SWING_SD = 2.0  # of the weights of the usual season's parts, of which the first comes out between 1 and 2
ADAPT_LIMIT = 30.0  # numerical: the penalty's weights differ by no more
MEMORY = ((1,), (2, 3), (4, 5, 6, 7))  # classes of days since the last opening day; the rest is the base
MEMORY_SD = 3.0  # prior sd of log odds, so wide that a season or two decide (judgement)
ROUNDS = 4  # alternations between the curve and what it implies for days nobody listened to
AGE = np.array([0, 1, 1, 2, 2, 2, 2, 3])  # class of 1 .. 7 and "8 or more" days since the last


@dataclass(frozen=True)
class DayModel:
    """A fitted day model: coefficients (intercept, harmonics, memory, season effects) and their covariance.

    `seasons` are the fitted seasons in the order of their effects; `season_sd` is the spread that a
    coming season's effect is drawn from; `hours` the open hours of an opening day by season day; `usual`
    whether the curve leans on the usual season of sporadic E.
    """

    coef: np.ndarray
    covariance: np.ndarray
    seasons: tuple[int, ...]
    season_sd: float
    hours: np.ndarray
    usual: bool = False

    def effect_column(self, season: int) -> int:
        """Column of the coefficients that holds a fitted season's effect."""
        return len(self.coef) - len(self.seasons) + self.seasons.index(season)


def fit_days(days: pd.DataFrame, *, season_sd: float = SEASON_SD) -> DayModel:
    """Fit the day model to the monitored days of one series.

    Parameters
    ----------
    days : DataFrame
        As `days.model_days` returns them: `date season season_day monitored open open_hours`.
    season_sd : float
        Prior standard deviation of a season's effect on the logit.

    Returns
    -------
    DayModel

    Raises
    ------
    ValueError
        If no day was monitored; ask `days.assess_days` first.
    """
    days = days.sort_values("date").reset_index(drop=True)
    if not days["monitored"].any():
        raise ValueError("no monitored days to fit; ask assess_days first")
    seasons = tuple(int(season) for season in np.unique(days.loc[days["monitored"], "season"]))
    fits = [_fit(days, seasons, season_sd=season_sd, candidate=one) for one in BENDINGS]
    best = max(range(len(fits)), key=lambda number: fits[number][2])
    coef, covariance, _ = fits[best]
    return DayModel(
        coef=coef,
        covariance=covariance,
        seasons=seasons,
        season_sd=_predictive_sd(coef[-len(seasons) :], prior=season_sd),
        hours=open_hours(days),
        usual=BENDINGS[best][2],
    )


def yearly_design(season_day: np.ndarray) -> np.ndarray:
    """Intercept and harmonics of the year, one row per season day."""
    season_day = np.asarray(season_day, dtype=float)
    return np.column_stack([np.ones(len(season_day)), cycle(season_day, period=DAYS, order=ORDER)])


def memory_design(opened: np.ndarray, *, since: np.ndarray) -> np.ndarray:
    """Chance that the last opening day lies 1, 2-3 or 4-7 days back, one row per day.

    Parameters
    ----------
    opened : array
        1 open, 0 not, or the chance of it where nobody listened.
    since : array of int
        Number of each day; days missing from the table count as shut.
    """
    first = since.min() - 7
    by_day = np.zeros(since.max() - first + 1)
    by_day[since - first] = opened
    shut = np.ones(len(since))
    columns = []
    for lags in MEMORY:
        quiet = np.prod([1 - by_day[since - first - lag] for lag in lags], axis=0)
        columns.append(shut * (1 - quiet))
        shut = shut * quiet
    return np.column_stack(columns)


def yearly_chance(coef: np.ndarray, *, memory: np.ndarray) -> np.ndarray:
    """Chance of an opening day by season day (`SEASON_DAYS`) in a middling season, memory held at its mean."""
    width = 2 * ORDER + 1
    return expit(yearly_design(SEASON_DAYS) @ coef[:width] + memory @ coef[width : width + len(MEMORY)])


def open_hours(days: pd.DataFrame, *, bandwidth: float = 20.0, weight: float = 5.0) -> np.ndarray:
    """Open hours of an opening day by season day, smoothed over neighbouring days of all seasons.

    `weight` opening days of the overall mean are mixed in, so that a season day without openings near
    it takes the mean.
    """
    good = days[days["monitored"] & days["open"]]
    if good.empty:
        return np.zeros(len(SEASON_DAYS))
    away = SEASON_DAYS[:, None] - good["season_day"].to_numpy(float)[None, :]
    away = (away + DAYS / 2) % DAYS - DAYS / 2
    kernel = np.exp(-0.5 * (away / bandwidth) ** 2)
    mean = good["open_hours"].mean()
    return (kernel @ good["open_hours"].to_numpy(float) + weight * mean) / (kernel.sum(axis=1) + weight)


def draw_coefficients(model: DayModel, *, n: int, seed: int) -> tuple[np.ndarray, np.ndarray]:
    """Coefficients and season spreads that the data allow: arrays (n, columns) and (n,).

    They are spread like Student's t with one degree of freedom more than there are seasons; so is the
    spread of a coming season.
    """
    rng = np.random.default_rng(seed)
    root = np.linalg.cholesky(model.covariance + 1e-12 * np.eye(len(model.coef)))
    freedom = len(model.seasons) + 1
    # Days of a season hang together more than the memory knows, so the seasons are the sample size.
    wider = np.sqrt(freedom / rng.chisquare(freedom, n))
    coef = model.coef + wider[:, None] * (rng.standard_normal((n, len(model.coef))) @ root.T)
    return coef, model.season_sd * np.sqrt(freedom / rng.chisquare(freedom, n))


def _fit(
    days: pd.DataFrame, seasons, *, season_sd: float, candidate: tuple[float, float, bool]
) -> tuple[np.ndarray, np.ndarray, float]:
    """Coefficients, covariance and log marginal likelihood for one way of penalising."""
    seen, opened = days["monitored"].to_numpy(bool), days["open"].to_numpy(float)
    yearly, since = yearly_design(days["season_day"].to_numpy()), _day_numbers(days["date"])
    effects = (days["season"].to_numpy()[:, None] == np.array(seasons)).astype(float)
    spread = np.r_[np.full(len(MEMORY), MEMORY_SD), np.full(len(seasons), season_sd)]
    weigh, adapt, usual = candidate
    swing = yearly[:, 1:] @ USUAL_SEASON.T if usual else np.empty((len(days), 0))
    spread = np.r_[spread, np.full(swing.shape[1], SWING_SD)]
    chance, held = np.full(len(days), opened[seen].mean()), None
    start: np.ndarray | None = None
    for _ in range(ROUNDS):
        # A day nobody listened to enters its followers' memory with the chance that it was open.
        memory = memory_design(np.where(seen, opened, chance), since=since)
        design = np.column_stack([yearly, memory, effects, swing])
        start, inverse, evidence = _penalised(
            design[seen], opened[seen], bending=_bending(held, weigh, adapt), ridge=spread**-2.0, start=start
        )
        coef, covariance = _folded(start, inverse) if usual else (start, inverse)
        held = yearly_chance(coef, memory=memory.mean(axis=0))
        chance = expit(design @ start)
    return coef, covariance, evidence


def _folded(coef: np.ndarray, covariance: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """The weights of the usual season, the last coefficients, added to the harmonics it is made of."""
    parts = len(USUAL_SEASON)
    fold = np.eye(len(coef))[:-parts]
    fold[1 : 2 * ORDER + 1, -parts:] = USUAL_SEASON.T
    return fold @ coef, fold @ covariance @ fold.T


def _penalised(design, opened, *, bending, ridge, start) -> tuple[np.ndarray, np.ndarray, float]:
    """Coefficients, covariance and log marginal likelihood, by way of a basis with a diagonal penalty."""
    values, vectors = np.linalg.eigh(bending)
    turn = np.eye(design.shape[1])
    turn[1 : len(values) + 1, 1 : len(values) + 1] = vectors
    penalty = np.r_[0.0, values, ridge]
    turned = design @ turn
    begin = None if start is None else turn.T @ start
    beta = irls(turned, successes=opened, trials=np.ones(len(opened)), penalty=penalty, start=begin)
    eta = turned @ beta
    information = turned.T @ (turned * (expit(eta) * expit(-eta))[:, None]) + np.diag(penalty)
    # Almost separated data leave a direction without information; a wide prior keeps it finite.
    information += 1e-3 * np.eye(len(beta))
    likelihood = opened @ eta - np.logaddexp(0, eta).sum() - 0.5 * penalty @ beta**2
    # Laplace's approximation; constants are the same for every penalty.
    evidence = likelihood + 0.5 * (np.log(penalty[1:]).sum() - np.linalg.slogdet(information)[1])
    return turn @ beta, turn @ np.linalg.inv(information) @ turn.T, float(evidence)


def _bending(chance: np.ndarray | None, weigh: float, adapt: float) -> np.ndarray:
    """Penalty matrix of the harmonics: mean squared second derivative, weighted up where days say little."""
    order = np.repeat(np.arange(1, ORDER + 1), 2)
    second = -cycle(SEASON_DAYS, period=DAYS, order=ORDER) * order**2
    weight = np.ones(len(SEASON_DAYS))
    if chance is not None:
        information = np.maximum(chance * (1 - chance), 1e-9)
        weight = np.clip(information.max() / information, 1, ADAPT_LIMIT) ** adapt
    return 2 * weigh / DAYS * (second.T @ (second * weight[:, None]))


def _predictive_sd(effects: np.ndarray, *, prior: float) -> float:
    """Spread of a coming season's effect: the fitted effects', widened, and the prior worth two seasons."""
    n = len(effects)
    if n < 2:
        return prior
    # Fitted effects are shrunk towards zero, so their spread is a tenth or two too small.
    seen = (1.15 * effects.std(ddof=1)) ** 2
    return float(np.sqrt((2 * prior**2 + (n - 1) * seen) / (n + 1)))


def _day_numbers(dates: pd.Series) -> np.ndarray:
    return ((dates - dates.min()).dt.total_seconds() // 86400).to_numpy("int64")
