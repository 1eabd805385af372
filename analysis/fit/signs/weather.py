"""The weather of the day beside openings: which of it goes with them beyond the calendar and the days before."""

from __future__ import annotations

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analysis.find.signs.spread import daily_spread
from analysis.find.signs.states import here_or_region
from analysis.fit.model.glm import irls
from analysis.fit.signs import beyond, blocks

SERIES = (("2m", "TR"), ("6m", "ES"), ("2m", "ES"))
LEAST = {"days": 60, "each": 15}  # as for forecasts
LEAST_YES = (
    10  # days with a front or with thunder among those known (common practice: ten events a coefficient)
)
SURELY = 0.025  # of luck, up or down; half the usual, since any column may be tried (judgement)
LINK, NONE = "link", "no link shown"
OPEN, SPREAD = "openings", "spread of SNR"
FRONT, AHEAD = "warm_front", "warm_front_next_day"
NIGHT = "night"
METHOD = (
    "odds (openings) or dB (spread) from yes to no, or from the upper to the lower quartile, with calendar, the day before and its "
    f"week taken into account; test: weather moved along each season {beyond.SHIFTS} times, Holm over all rows; {blocks.METHOD}"
)
COLUMNS = [
    *("scope", "band", "mechanism", "what", "factor", "step", "n_days", "n_open"),
    *("value", "low", "high", "p_holm", "verdict", "reason"),
]


def weather_table(weather: pd.DataFrame, days: pd.DataFrame, spread: pd.DataFrame) -> pd.DataFrame:
    """Link of each column of a weather file with openings and with the spread of SNR.

    Parameters
    ----------
    weather : DataFrame
        `day` and columns of numbers, yes 1 and no 0.
    days : DataFrame
        As `find.days.days_table` makes it.
    spread : DataFrame
        As `find.signs.spread.spreads` makes it.

    Returns
    -------
    DataFrame
        `scope band mechanism what factor step n_days n_open value low high p_holm verdict reason method`. `value` is how many
        times the odds of an opening day change over `step` (openings), or by how many dB (spread of SNR);
        `factor` night tells the spread at night less that by day. The verdict is
        "link" where p_holm is at most 0.025 and the interval leaves no effect out, "no link shown" or "refuse".
    """
    found = []
    for band, mechanism in SERIES:
        scope, states = here_or_region(days, band=band, mechanism=mechanism, least=LEAST)
        told = {"scope": scope, "band": band, "mechanism": mechanism}
        beside = _beside(weather, states)
        value = daily_spread(spread, states, band=band, mechanism=mechanism)
        found += [told | _opening(states, beside, str(name)) for name in beside if name != AHEAD]
        found += [told | _varied(states.assign(open=value), beside, str(name)) for name in beside]
        found.append(told | _night(spread, states, band=band, mechanism=mechanism))
    table = pd.DataFrame(found, columns=COLUMNS)
    table["p_holm"] = blocks.holm(table["p_holm"])
    tested = table["p_holm"].notna()
    nothing = np.where(table["what"] == OPEN, 1.0, 0.0)
    sure = (table["p_holm"] <= SURELY) & ((table["low"] > nothing) | (table["high"] < nothing))
    table.loc[tested, "verdict"] = np.where(sure[tested], LINK, NONE)
    table.loc[tested & ~sure, "reason"] = "no more than the calendar and the days before tell"
    return table.assign(method=METHOD)


def _beside(weather: pd.DataFrame, states: pd.DataFrame) -> pd.DataFrame:
    """Weather of each day of the states, and whether a warm front came the day after."""
    beside = weather.set_index("day").reindex(states["day"])
    if FRONT in beside:
        beside[AHEAD] = weather.set_index("day")[FRONT].reindex(states["day"] + pd.Timedelta("1D")).to_numpy()
    return beside


def _step(number: NDArray) -> tuple[float, str]:
    """By how much a factor is moved to tell its effect, and in words."""
    if set(np.unique(number)) <= {0.0, 1.0}:
        return 1.0, "yes against no"
    low, high = np.quantile(number, [0.25, 0.75])
    return float(high - low), f"{low:.4g} to {high:.4g}"


def _known(states: pd.DataFrame, number: NDArray, *, name: str, what: str) -> tuple[dict, NDArray]:
    """What can be said before any test, and the rows that are known."""
    known = states["open"].notna().to_numpy() & np.isfinite(number)
    told = {"what": what, "factor": name, "n_days": int(known.sum()), "n_open": np.nan, "step": ""}
    few = known.sum() < LEAST["days"]
    own = number[known]
    yes = set(np.unique(own)) <= {0.0, 1.0}
    rare = yes and min((own == 1).sum(), (own == 0).sum()) < LEAST_YES
    reason = (
        f"{known.sum()} days known, of {LEAST['days']} needed"
        if few
        else f"fewer than {LEAST_YES} days with it, or without it"
        if rare
        else "never changes"
        if np.ptp(own) == 0
        else ""
    )
    return told | _blank(reason), known


def _blank(reason: str) -> dict:
    unknown = dict.fromkeys(("value", "low", "high", "p_holm"), np.nan)
    return unknown | {"verdict": "refuse" if reason else "", "reason": reason}


def _opening(states: pd.DataFrame, beside: pd.DataFrame, name: str) -> dict:
    """One factor beside open and shut days: odds ratio and its p value, not yet corrected."""
    number = beside[name].to_numpy(float)
    told, known = _known(states, number, name=name, what=OPEN)
    opened = states["open"].to_numpy(float)
    told["n_open"] = int(opened[known].sum())
    if not told["reason"] and min(told["n_open"], known.sum() - told["n_open"]) < LEAST["each"]:
        told |= _blank(f"fewer than {LEAST['each']} open days, or shut ones")
    if told["reason"]:
        return told
    step, told["step"] = _step(number[known])
    x = np.column_stack([beyond.design(states), number / (step or 1.0)])[known]

    def log_odds(rows: pd.DataFrame) -> NDArray:
        at = rows.index.to_numpy()
        penalty = np.r_[0.0, np.full(x.shape[1] - 1, beyond.RIDGE)]
        beta = irls(x[at], successes=opened[known][at], trials=np.ones(len(at)), penalty=penalty)
        return beta[-1:]

    value, low, high = _jackknife(states[known], log_odds)
    return told | {
        "value": np.exp(value),
        "low": np.exp(low),
        "high": np.exp(high),
        "p_holm": beyond.link(states, number).p_any,
    }


def _varied(states: pd.DataFrame, beside: pd.DataFrame, name: str) -> dict:
    """One factor beside the spread of SNR, which stands in `open` here: dB and p value, not yet corrected."""
    number = beside[name].to_numpy(float)
    told, known = _known(states, number, name=name, what=SPREAD)
    if told["reason"]:
        return told
    step, told["step"] = _step(number[known])
    spread = states["open"].to_numpy(float)
    x = np.column_stack([beyond.design(states), number / (step or 1.0)])[known]

    def slope(rows: pd.DataFrame) -> NDArray:
        at = rows.index.to_numpy()
        return np.linalg.lstsq(x[at], spread[known][at], rcond=None)[0][-1:]

    value, low, high = _jackknife(states[known], slope)
    return told | {
        "value": value,
        "low": low,
        "high": high,
        "p_holm": beyond.link(states, number, value=spread).p_any,
    }


def _jackknife(rows: pd.DataFrame, statistic) -> tuple[float, float, float]:
    rows = rows.reset_index(drop=True)
    block = blocks.blocks(rows["day"].dt.tz_localize("UTC"), rows["season"])
    value, low, high = blocks.jackknife(rows, block, statistic)
    return float(value[0]), float(low[0]), float(high[0])


def _night(spread: pd.DataFrame, states: pd.DataFrame, *, band: str, mechanism: str) -> dict:
    """Spread at night less that of the same day by daylight."""
    mine = spread[(spread["band"] == band) & (spread["mechanism"] == mechanism)]
    both = mine.pivot_table(index="day", columns="night", values="spread_db").dropna()
    told = {"what": SPREAD, "factor": NIGHT, "step": "night less day", "n_days": len(both), "n_open": np.nan}
    if len(both) < LEAST["days"] or both.shape[1] < 2:
        return told | _blank(f"{len(both)} days with both, of {LEAST['days']} needed")
    season = states.set_index("day")["season"].reindex(both.index).ffill().bfill()
    day = both.index.to_series().dt.tz_localize("UTC")
    known = blocks.mean(both[True] - both[False], blocks.blocks(day, season))
    if not np.isfinite(known.value):
        return told | _blank(f"fewer than {blocks.LEAST_BLOCKS} seasons or spells of days")
    p_any = 2 * min(known.p, 1 - known.p)
    return (
        told
        | {"value": known.value, "low": known.low, "high": known.high, "p_holm": p_any}
        | {"verdict": "", "reason": ""}
    )
