"""The chance that is told is the one that was checked: corrected by what left-out seasons showed.

Windows of one season hang together and overlap, so they count for little, and the correction is held
near none: it bends chances only as far as several seasons agree.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import pandas as pd
from scipy.special import expit, logit

from analysis.fit.ahead.verify import LEAST_CHANCE, scores

SEASONS_NEEDED = 4  # left-out seasons below which nothing is corrected; judgement
HOLD = 0.2  # prior sd of shift and slope; half or twice it moves the skill of a real series by .003 at most
LEAST_SLOPE = 0.1  # dates keep their order even where they told nothing apart
HALF = 0.5  # chances from here on are the ones told in words
STEPS = 30  # a guard against endless steps


@dataclass(frozen=True)
class Calibration:
    """What a back-test found of chances: `shift` and `slope` of their log odds, and words for it."""

    shift: float = 0.0
    slope: float = 1.0
    words: str = f"not checked: fewer than {SEASONS_NEEDED} seasons to leave out"

    def corrected(self, chance: np.ndarray) -> np.ndarray:
        """Chances as often as they came true; order is kept, and 0 and 1 stay what they are."""
        if (self.shift, self.slope) == (0.0, 1.0):
            return chance
        with np.errstate(divide="ignore"):
            return expit(self.shift + self.slope * logit(chance))


UNCHECKED = Calibration()


def calibration(forecasts: pd.DataFrame) -> Calibration:
    """Learn how far chances must be corrected from forecasts of left-out seasons.

    Parameters
    ----------
    forecasts : DataFrame
        As `verify.back_test` returns them for one count of opening days and windows of one length.

    Returns
    -------
    Calibration
        None (shift 0, slope 1) with fewer than `SEASONS_NEEDED` seasons, or where every window, or none,
        came true.

    References
    ----------
    Cox 1958, Biometrika 45, 562: shift and slope of the log odds as a test of chances.
    """
    if (
        forecasts.empty
        or forecasts["season"].nunique() < SEASONS_NEEDED
        or forecasts["happened"].nunique() < 2
    ):
        return UNCHECKED
    shift, slope = _shift_and_slope(forecasts)
    found = Calibration(shift, max(slope, LEAST_SLOPE))
    return replace(found, words=_words(forecasts, found))


def recalibrated(forecasts: pd.DataFrame) -> pd.DataFrame:
    """The forecasts with each season's chances corrected by what the other seasons showed."""
    parts = []
    for (_, season), part in forecasts.groupby(["at_least", "season"], sort=False):
        others = forecasts[
            (forecasts["at_least"] == part["at_least"].iloc[0]) & (forecasts["season"] != season)
        ]
        model = calibration(others).corrected(part["model"].to_numpy(float))
        parts.append(part.assign(model=model))
    return pd.concat(parts) if parts else forecasts


def _shift_and_slope(forecasts: pd.DataFrame) -> tuple[float, float]:
    """Penalised logistic regression on the log odds, by Newton's steps; no correction is the prior's mean."""
    odds = logit(forecasts["model"].clip(LEAST_CHANCE, 1 - LEAST_CHANCE).to_numpy(float))
    design, happened = np.column_stack([np.ones(len(odds)), odds]), forecasts["happened"].to_numpy(float)
    # A window shares its days with its neighbours: so many of them count as one.
    length = forecasts["length"].iloc[0]
    beta, usual = np.array([0.0, 1.0]), np.array([0.0, 1.0])
    for _ in range(STEPS):
        chance = expit(design @ beta)
        score = design.T @ (happened - chance) / length - (beta - usual) / HOLD**2
        weight = (chance * (1 - chance) / length)[:, None]
        step = np.linalg.solve(design.T @ (design * weight) + np.eye(2) / HOLD**2, score)
        beta = beta + step
        if np.abs(step).max() < 1e-8:
            break
    return float(beta[0]), float(beta[1])


def _words(forecasts: pd.DataFrame, found: Calibration) -> str:
    """What the check found of chances of one half and more, and whether that moved what is told."""
    seasons = forecasts["season"].nunique()
    high = forecasts[forecasts["model"] >= HALF]
    if high.empty:
        return f"checked on {seasons} left-out seasons, in which no chance reached {HALF:.0%}"
    said, came = high["model"].mean(), high["happened"].mean()
    moved = np.abs(found.corrected(np.array([0.25, 0.5, 0.75])) - [0.25, 0.5, 0.75]).max()
    then = "; the chances told are corrected for it" if moved >= 0.01 else ""
    return (
        f"checked on {seasons} left-out seasons: chances of {HALF:.0%} and more, {said:.0%} on average, "
        f"came true {came:.0%} of the time{then}"
    )


def skill(forecasts: pd.DataFrame) -> dict[str, float]:
    """Brier skill of the corrected chances over the same chance on every date: `skill skill_low skill_high`."""
    if forecasts.empty:
        return dict.fromkeys(("skill", "skill_low", "skill_high"), np.nan)
    found = scores(recalibrated(forecasts)).query("score == 'brier skill' and against == 'flat'").iloc[0]
    return {"skill": found["value"], "skill_low": found["low"], "skill_high": found["high"]}
