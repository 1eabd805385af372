"""Which report level of FT8 makes voice likely: a curve with its interval, and the trade's rung put to the test."""

from __future__ import annotations

import numpy as np
import pandas as pd
import statsmodels.api as sm
from scipy.special import expit
from statsmodels.tools.sm_exceptions import PerfectSeparationError

from analysis.find.signs.ladder import FAIR_DB
from analysis.fit.signs import blocks

LEVELS_DB = np.arange(-20.0, 21.0, 5.0)  # reports at which the curve is told
LEAST_SLOTS, LEAST_VOICE = 60, 10  # ten events for a coefficient (common practice)
CURVE, RUNG = "chance of voice", f"voice at {FAIR_DB:g} dB or more, over below"
KEYS = ["scope", "band", "mechanism"]
METHOD = (
    f"logistic regression of voice in the next quarter of an hour on the strongest report; {blocks.METHOD}"
)


def levels_table(levels: pd.DataFrame) -> pd.DataFrame:
    """Chance of voice in the next quarter of an hour by the strongest FT8 report now.

    Parameters
    ----------
    levels : DataFrame
        As `find.signs.levels.levels` makes it.

    Returns
    -------
    DataFrame
        `scope band mechanism what level_db n n_voice value low high p verdict reason method`: rows of
        "chance of voice" at levels within those reported, and one that tests the trade's rung: how many
        times likelier voice is at -10 dB or more than below, with its one-sided p value.
    """
    found = []
    for key, own in levels.groupby(KEYS, sort=False):
        found += [dict(zip(KEYS, key, strict=True)) | row for row in [*_curve(own), _rung(own)]]
    columns = [*KEYS, "what", "level_db", "n", "n_voice", "value", "low", "high", "p", "verdict", "reason"]
    return pd.DataFrame(found, columns=columns).assign(method=METHOD)


def _curve(own: pd.DataFrame) -> list[dict]:
    n_voice = int(own["voice_next"].sum())
    told = {"what": CURVE, "n": len(own), "n_voice": n_voice, "p": np.nan}
    if len(own) < LEAST_SLOTS or min(n_voice, len(own) - n_voice) < LEAST_VOICE:
        return [
            told
            | _refused(
                f"{len(own)} quarter-hours with FT8 and somebody on voice, {told['n_voice']} of them before voice; "
                f"{LEAST_SLOTS} and {LEAST_VOICE} are needed"
            )
        ]
    inside = LEVELS_DB[
        (own["best_db"].quantile(0.02) <= LEVELS_DB) & (own["best_db"].quantile(0.98) >= LEVELS_DB)
    ]
    block = blocks.blocks(own["start"], own["season"])
    try:
        value, low, high = blocks.jackknife(own, block, lambda rows: _log_odds(rows, inside))
    except PerfectSeparationError:
        return [told | _refused("strong and weak reports part voice from silence altogether; add seasons")]
    if not np.isfinite(value).all():
        return [told | _refused(f"fewer than {blocks.LEAST_BLOCKS} seasons or spells of days")]
    ends = zip(inside, expit(value), expit(low), expit(high), strict=True)
    return [
        told | {"level_db": at, "value": v, "low": lo, "high": hi, "verdict": "ok", "reason": ""}
        for at, v, lo, hi in ends
    ]


def _log_odds(rows: pd.DataFrame, at: np.ndarray) -> np.ndarray:
    """Log odds of voice at levels, from a logistic regression."""
    fit = sm.GLM(
        rows["voice_next"].astype(float), sm.add_constant(rows[["best_db"]]), family=sm.families.Binomial()
    ).fit()
    return fit.params["const"] + fit.params["best_db"] * at


def _rung(own: pd.DataFrame) -> dict:
    """How many times likelier voice is after reports at the trade's level than after weaker ones."""
    above, voice = own["best_db"] >= FAIR_DB, own["voice_next"].astype(float)
    told = {"what": RUNG, "level_db": FAIR_DB, "n": len(own), "n_voice": int(voice.sum())}
    sums = pd.DataFrame({"va": voice * above, "na": above * 1.0, "vb": voice * ~above, "nb": ~above * 1.0})
    if sums["nb"].sum() < LEAST_VOICE or sums["na"].sum() < LEAST_VOICE:
        return (
            told
            | {"p": np.nan}
            | _refused(f"fewer than {LEAST_VOICE} quarter-hours on one side of {FAIR_DB:g} dB")
        )
    small = 0.5  # of a quarter-hour: keeps a side without voice finite
    known = blocks.left_out(
        sums,
        blocks.blocks(own["start"], own["season"]),
        lambda of: (
            np.log((of["va"] + small) / (of["na"] + small)) - np.log((of["vb"] + small) / (of["nb"] + small))
        ),
    )
    if not np.isfinite(known.value):
        return told | {"p": np.nan} | _refused(f"fewer than {blocks.LEAST_BLOCKS} seasons or spells of days")
    ends = {"value": np.exp(known.value), "low": np.exp(known.low), "high": np.exp(known.high), "p": known.p}
    return told | ends | {"verdict": "supported" if known.p <= 0.05 else "cannot tell", "reason": ""}


def _refused(reason: str) -> dict:
    return {"value": np.nan, "low": np.nan, "high": np.nan, "verdict": "refuse", "reason": reason}
