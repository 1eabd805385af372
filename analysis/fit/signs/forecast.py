"""A forecast that somebody noted, scored: does it tell open from shut days, and more than calendar and persistence?"""

from __future__ import annotations

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy.stats import rankdata

from analysis.fit.signs import beyond, blocks

LEAST = {
    "days": 60,
    "each": 15,
}  # days scored; open and shut among them (judgement: below, one spell decides)
SURELY = 0.025  # one-sided, which is 5 % both ways
SKILL, NONE = "skill", "no skill shown"
METHOD = (
    "index beside calendar and persistence in a logistic regression, scored on blocks left out; test: index moved "
    f"along each season {beyond.SHIFTS} times, Holm over all rows; {blocks.METHOD}"
)
FEW = f"fewer than {LEAST['days']} days scored, or than {LEAST['each']} of them open or shut"
KEYS = ["forecast", "area", "band", "mechanism", "scope", "lead_days"]
NO_PAIRS = pd.DataFrame(columns=[*KEYS, "day", "season", "season_day", "open", "index"])
LEVELS = 5  # groups of an index with more values than
MOST_LEVELS = 11  # an index from 0 to 10 has


def forecast_scores(pairs: pd.DataFrame) -> pd.DataFrame:
    """How good noted forecasts were, for each lead in days.

    Parameters
    ----------
    pairs : DataFrame
        `forecast area band mechanism scope lead_days day season season_day open index`, for every key a row for each
        day of the series in order: `index` is NaN on days without a forecast, `open` where nobody listened.

    Returns
    -------
    DataFrame
        One row per key: `n_days n_open`; `roc` (chance that an open day had the higher index, .5 is
        luck), `skill_calendar` and `skill_persistence` (Brier skill of the index with the calendar over the calendar
        alone, and of the index with calendar and last known state over those alone, on blocks left out),
        each with `_low _high`; the `threshold` that tells open from shut best (Peirce's score), with
        `hits`, `false_alarms` (share of shut days) and `alarms_wrong` (share of alarms) when it is chosen on
        the other blocks; `calibration_error`; `p_holm`, `verdict` ("skill" where
        p_holm is at most 0.025 and the interval of `skill_persistence` lies above zero, "no skill shown", "refuse"),
        `reason`, `method`.
    """
    found = [
        dict(zip(KEYS, key, strict=True)) | _scores(own, lag=max(int(str(key[-1])), 1))
        for key, own in pairs.groupby(KEYS, sort=False)
    ]
    table = pd.DataFrame(found, columns=COLUMNS)
    table["p_holm"] = blocks.holm(table["p_holm"])
    told = table["verdict"] != "refuse"
    surely = (table["p_holm"] <= SURELY) & (table["skill_persistence_low"] > 0)
    table.loc[told, "verdict"] = np.where(surely[told], SKILL, NONE)
    table.loc[told & ~surely, "reason"] = "no more than the calendar and the state on the day of issue tell"
    return table.assign(method=METHOD)


def forecast_levels(pairs: pd.DataFrame) -> pd.DataFrame:
    """How often it opened at each level of the index: reliability.

    Returns
    -------
    DataFrame
        `forecast area band mechanism scope lead_days index_low index_high n n_open share low high`; an index with more
        than eleven values is told in fifths of its days.
    """
    rows = []
    for key, own in _known(pairs).groupby(KEYS, sort=False):
        for (low, high), part in _levels(own):
            share = blocks.mean(part["open"], blocks.blocks(_utc(part["day"]), part["season"]))
            told = [low, high, len(part), int(part["open"].sum()), part["open"].mean()]
            rows.append([*key, *told, *np.clip([share.low, share.high], 0, 1)])
    columns = [*KEYS, "index_low", "index_high", "n", "n_open", "share", "low", "high"]
    return pd.DataFrame(rows, columns=columns)


def roc_area(index: NDArray, opened: NDArray) -> float:
    """Chance that the index of an open day is above that of a shut one, ties counted half."""
    n_open = opened.sum()
    n_shut = len(opened) - n_open
    if min(n_open, n_shut) == 0:
        return np.nan
    return float((rankdata(index)[opened == 1].sum() - n_open * (n_open + 1) / 2) / (n_open * n_shut))


def _known(pairs: pd.DataFrame) -> pd.DataFrame:
    return pairs[pairs["open"].notna() & pairs["index"].notna()]


def _utc(day: pd.Series) -> pd.Series:
    return day.dt.tz_localize("UTC")


def _levels(own: pd.DataFrame):
    """Groups of equal index, or fifths: their ends and rows."""
    if own["index"].nunique() <= MOST_LEVELS:
        return [((level, level), part) for level, part in own.groupby("index")]
    fifth = pd.qcut(own["index"], LEVELS, duplicates="drop")
    return [
        ((part["index"].min(), part["index"].max()), part) for _, part in own.groupby(fifth, observed=True)
    ]


def _refused(known: pd.DataFrame) -> dict:
    scores = ("roc", "skill_calendar", "skill_persistence")
    blank = [name for one in scores for name in (one, f"{one}_low", f"{one}_high")]
    blank += ["threshold", "hits", "false_alarms", "alarms_wrong", "calibration_error", "p_holm"]
    counts = {"n_days": len(known), "n_open": int(known["open"].sum())}
    return counts | dict.fromkeys(blank, np.nan) | {"verdict": "refuse", "reason": FEW}


COLUMNS = [*KEYS, *_refused(NO_PAIRS)]


def _scores(own: pd.DataFrame, *, lag: int) -> dict:
    """Numbers of one key, its p value not yet corrected."""
    scored = (own["open"].notna() & own["index"].notna()).to_numpy()
    known = own[scored]
    told = _refused(known)
    if told["n_days"] < LEAST["days"] or min(told["n_open"], told["n_days"] - told["n_open"]) < LEAST["each"]:
        return told
    block = blocks.blocks(_utc(known["day"]), known["season"])
    if len(np.unique(block)) < blocks.LEAST_BLOCKS:
        return told | {"reason": f"fewer than {blocks.LEAST_BLOCKS} seasons or spells of days"}
    opened, index = known["open"].to_numpy(float), known["index"].to_numpy(float)
    value, low, high = blocks.jackknife(
        known, block, lambda rows: np.array([roc_area(rows["index"].to_numpy(), rows["open"].to_numpy())])
    )
    told |= {"roc": value[0], "roc_low": max(low[0], 0.0), "roc_high": min(high[0], 1.0)}
    told |= _skills(beyond.design(own, lag=lag)[scored], opened, index, block)
    told |= _threshold(index, opened, block)
    return told | {
        "p_holm": beyond.link(own, own["index"].to_numpy(float), lag=lag).p_more,
        "verdict": "",
        "reason": "",
    }


def _skills(x: NDArray, opened: NDArray, index: NDArray, block: NDArray) -> dict:
    """Brier skill over the calendar, and over calendar and persistence, on blocks left out."""
    told: dict[str, float] = {}
    designs = {"calendar": x[:, : beyond.CALENDAR], "persistence": x}
    for name, base in designs.items():
        with_index = np.column_stack([base, index])
        before, after = (_left_out(one, opened, block) for one in (base, with_index))
        parts = pd.DataFrame({"base": (before - opened) ** 2, "own": (after - opened) ** 2})
        skill = blocks.left_out(parts, block, lambda sums: 1 - sums["own"] / sums["base"])
        ends = {"": skill.value, "_low": skill.low, "_high": skill.high}
        told |= {f"skill_{name}{end}": value for end, value in ends.items()}
    told["calibration_error"] = _calibration_error(after, opened)
    return told


def _left_out(x: NDArray, opened: NDArray, block: NDArray) -> NDArray:
    """Chances of each block from all others."""
    chance = np.empty(len(opened))
    for one in np.unique(block):
        own = block == one
        chance[own] = beyond.chances(x, opened, train=~own)[own]
    return chance


def _calibration_error(chance: NDArray, opened: NDArray) -> float:
    """Mean distance between chance and share of open days, over fifths of the days."""
    fifth = (rankdata(chance, method="ordinal") - 1) * LEVELS // len(chance)
    means = pd.DataFrame({"chance": chance, "open": opened}).groupby(fifth)
    apart = (means["chance"].mean() - means["open"].mean()).abs()
    return float((apart * means.size()).sum() / len(chance))


def _threshold(index: NDArray, opened: NDArray, block: NDArray) -> dict:
    """The threshold of all days; hits and false alarms of one that was chosen without the day's block."""
    alarm = np.zeros(len(index), dtype=bool)
    for one in np.unique(block):
        own = block == one
        alarm[own] = index[own] >= _best_threshold(index[~own], opened[~own])
    yes = opened == 1
    return {
        "threshold": _best_threshold(index, opened),
        "hits": alarm[yes].mean(),
        "false_alarms": alarm[~yes].mean(),
        "alarms_wrong": float((~yes)[alarm].mean()) if alarm.any() else np.nan,
    }


def _best_threshold(index: NDArray, opened: NDArray) -> float:
    """Index from which on an alarm has the highest share of hits less share of false alarms."""
    levels = np.unique(index)
    at = np.searchsorted(levels, index)
    hits, false = (np.bincount(at, weights=w, minlength=len(levels)) for w in (opened, 1 - opened))
    above = np.cumsum(hits[::-1])[::-1] / max(opened.sum(), 1) - np.cumsum(false[::-1])[::-1] / max(
        (1 - opened).sum(), 1
    )
    return float(levels[np.argmax(above)])
