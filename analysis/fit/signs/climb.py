"""How likely a rung of the ladder leads to voice, and how soon, with what nobody could see accounted for.

Kaplan and Meier's curve with late entry and a competing end: an opening that is over can no longer lead
to voice, and is not cut; a spell that ends because nobody stayed is. A rung whose own start nobody watched
is left out: to call it cut on the right would make leads too long.
"""

from __future__ import annotations

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy.special import expit, logit
from statsmodels.duration.survfunc import SurvfuncRight

from analysis.find.signs.ladder import LED, OVER, RUNGS
from analysis.fit.signs import blocks

LEAST_OPENINGS = (
    20  # with a voice operator on; a judgement: below it the chance is known to ±20 points at best
)
WITHIN_MIN = 360.0  # voice later than this is not the rung's doing (judgement)
HALF_MINUTE = 0.5  # reports are kept by the minute: voice in the rung's own minute came after it
KEYS = ["scope", "band", "mechanism", "rung"]
METHOD = (
    "cumulative incidence with late entry, the end of the opening as competing end (Kaplan–Meier through "
    f"statsmodels); {blocks.METHOD}"
)


def rungs_table(ladder: pd.DataFrame) -> pd.DataFrame:
    """Chance that each rung leads to voice in the same opening, and the median lead where it does.

    Parameters
    ----------
    ladder : DataFrame
        As `find.signs.ladder.ladder` makes it.

    Returns
    -------
    DataFrame
        `scope band mechanism rung n_openings n_known n_unwatched n_nobody n_led chance low high lead_min lead_low
        lead_high verdict reason method`. `n_known` openings had the rung's start watched and a voice operator
        on; `n_unwatched` and `n_nobody` are those left out for the one and the other. `lead_min` is the
        median over rungs that lead to voice within `WITHIN_MIN`.
    """
    found = [dict(zip(KEYS, key, strict=True)) | _rung(own) for key, own in ladder.groupby(KEYS, sort=False)]
    table = pd.DataFrame(found, columns=[*KEYS, *_rung(ladder.iloc[:0])])
    order = {name: place for place, name in enumerate(RUNGS)}
    table = table.sort_values(KEYS, key=lambda one: one.map(order) if one.name == "rung" else one)
    return table.assign(method=METHOD).reset_index(drop=True)


def incidence(spells: pd.DataFrame) -> tuple[NDArray, NDArray]:
    """Times [min after the rung] and the chance that voice has come by then.

    Parameters
    ----------
    spells : DataFrame
        `entry_min exit_min ended`, as of `find.signs.ladder.ladder`; several rows an opening.
    """
    time = np.maximum(spells["exit_min"].to_numpy(float), HALF_MINUTE)
    entry = np.minimum(spells["entry_min"].to_numpy(float), time - HALF_MINUTE / 2)
    ended = spells["ended"].isin([LED, OVER]).to_numpy()
    if not ended.any():
        return np.empty(0), np.empty(0)
    curve = SurvfuncRight(time, ended.astype(int), entry=entry)
    led = pd.Series(time[(spells["ended"] == LED).to_numpy()]).value_counts()
    events = led.reindex(curve.surv_times).fillna(0.0).to_numpy()
    still = np.concatenate([[1.0], curve.surv_prob[:-1]])
    return np.asarray(curve.surv_times), np.cumsum(still * events / curve.n_risk)


def chance_and_lead(spells: pd.DataFrame) -> tuple[float, float]:
    """Chance of voice within `WITHIN_MIN` of the rung, and the median minutes where it comes."""
    times, come = incidence(spells)
    times, come = times[times <= WITHIN_MIN], come[times <= WITHIN_MIN]
    if not len(come) or come[-1] <= 0:
        return 0.0, np.nan
    return float(come[-1]), float(times[np.searchsorted(come, come[-1] / 2)])


def _rung(own: pd.DataFrame) -> dict:
    """Numbers of one rung in one series."""
    openings = own.groupby("opening")
    unwatched = ~openings["start_heard"].first().astype(bool)
    nobody = (openings["ended"].first() == "") & ~unwatched
    spells = own[own["start_heard"].astype(bool) & (own["ended"] != "")]
    n, led = spells["opening"].nunique(), int((spells["ended"] == LED).sum())
    told = {
        "n_openings": own["opening"].nunique(),
        "n_known": n,
        "n_unwatched": int(unwatched.sum()),
        "n_nobody": int(nobody.sum()),
        "n_led": led,
    }
    names = ["chance", "low", "high", "lead_min", "lead_low", "lead_high"]
    why = _barred(n, led)
    numbers = [np.nan] * 6 if why else _intervals(spells)
    if not why and not np.isfinite(numbers[0]):
        why = f"fewer than {blocks.LEAST_BLOCKS} seasons or spells of days"
    return (
        told | dict(zip(names, numbers, strict=True)) | {"verdict": "refuse" if why else "ok", "reason": why}
    )


def _barred(n: int, led: int) -> str:
    if n < LEAST_OPENINGS:
        return (
            f"in {n} openings only was the rung's start watched and a voice operator known to be on, of "
            f"{LEAST_OPENINGS} needed; contacts and voice reports of quiet hours would tell who was on"
        )
    return "" if led else f"voice never came in {n} openings"


def _intervals(spells: pd.DataFrame) -> list[float]:
    """Chance and median lead, each with its ends; worked on scales where a symmetric interval makes sense."""
    block = blocks.blocks(spells["start"], spells["season"])

    def scaled(rows: pd.DataFrame) -> NDArray:
        chance, lead = chance_and_lead(rows)
        return np.array([logit(np.clip(chance, 0.002, 0.998)), np.log(lead)])

    value, low, high = blocks.jackknife(spells, block, scaled)
    chance, lead = expit([value[0], low[0], high[0]]), np.exp([value[1], low[1], high[1]])
    return [*chance, *lead]
