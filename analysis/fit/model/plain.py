"""The plain companion: the share of monitored half-hours with a detection, as an ordinary regression.

It is a generalised linear model of statsmodels whose formula can be read, and changed. It asks for nothing
but that somebody listened, and so says too little where listeners are few: a lower bound of what `occupancy`
finds.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd
import statsmodels.formula.api as smf
from scipy.stats import t
from statsmodels.genmod.families import Binomial
from statsmodels.genmod.generalized_linear_model import GLMResultsWrapper

from analysis.fit.assess import assess
from analysis.fit.model.counts import block_centre, count
from analysis.fit.model.curves import BINS_NEEDED, LEVEL
from analysis.fit.peaks import date_text

LONE_PARTS = 8  # of a lone season, left out in turn
SPELL_BLOCKS = 2  # weather and ionisation hang together over some ten days: their half-hours are one cluster
FORMULA = (  # cc: cyclic cubic spline, its two ends meet; df: how many bends it may have
    "opened + shut ~ cc(hour, df=6, lower_bound=0, upper_bound=24, constraints='center')"
    " + cc(season_day, df=6, lower_bound=-183, upper_bound=182.25, constraints='center')"
)


def counted(cells: pd.DataFrame) -> pd.DataFrame:
    """Half-hours of a series, counted for a regression.

    Parameters
    ----------
    cells : DataFrame
        Half-hours of one series, as `half_hours` gives them.

    Returns
    -------
    DataFrame
        `season season_day hour opened shut spell`: one row per season, five days (their middle) and
        half-hour of the day in which somebody listened; how many half-hours had a detection and how many
        had none; `spell` numbers the ten days of a season.

    Examples
    --------
    >>> from analysis import counted, half_hours, open_tables
    >>> season = open_tables(None)  # the demo; the folder of your own review's tables in its place
    >>> cells = half_hours(season.spots, season.listening, band="6m", mechanism="ES")
    >>> list(counted(cells))
    ['season', 'season_day', 'hour', 'opened', 'shut', 'spell']
    """
    counts = count(cells)
    classes = counts.classes
    season = counts.seasons[classes["season_index"]]
    return pd.DataFrame(
        {
            "season": season,
            "season_day": block_centre(classes["block"].to_numpy()),
            "hour": classes["half"] / 2 + 0.25,
            "opened": classes["open_bins"],
            "shut": classes["bins"] - classes["open_bins"],
            "spell": season * 100 + classes["block"] // SPELL_BLOCKS,
        }
    )


def fit_plain(table: pd.DataFrame, *, formula: str = FORMULA) -> GLMResultsWrapper:
    """Fit a binomial regression by a formula; its errors allow for half-hours that hang together.

    Parameters
    ----------
    table : DataFrame
        From `counted`.
    formula : str
        Over columns of the table: `cc` makes a curve that closes on itself, with more or fewer bends by
        `df`; add `C(season)` to let seasons differ.

    Returns
    -------
    GLMResultsWrapper
        What statsmodels makes of it: `summary()`, `params`, `get_prediction()` and more; covariances are
        clustered by spells of ten days.

    References
    ----------
    McCullagh and Nelder, Generalized Linear Models, 2nd ed. 1989; Liang and Zeger, Biometrika 73, 13 (1986).

    Examples
    --------
    >>> from analysis import counted, fit_plain, half_hours, open_tables
    >>> season = open_tables(None)  # the demo; the folder of your own review's tables in its place
    >>> cells = half_hours(season.spots, season.listening, band="6m", mechanism="ES")
    >>> fit = fit_plain(counted(cells), formula="opened + shut ~ cc(hour, df=4, constraints='center')")
    >>> len(fit.params)
    5
    """
    model = smf.glm(formula, table, family=Binomial())
    return model.fit(cov_type="cluster", cov_kwds={"groups": table["spell"]})


def plain_curve(
    cells: pd.DataFrame, *, by: str = "hour", formula: str = FORMULA, tier: str = "A"
) -> pd.DataFrame:
    """Chance of a detection by hour or by season day, by the plain companion.

    Parameters
    ----------
    cells : DataFrame
        Half-hours of one series.
    by : {"hour", "season_day"}
        The other one is averaged over, as much as it was listened to.
    formula : str
        As for `fit_plain`.
    tier : str
        Evidence tier A, B or C.

    Returns
    -------
    DataFrame
        `hour`, or `season_day` and `date` (month-day), `chance low high n_monitored seasons tier verdict
        reason`. The 90 % interval
        comes from leaving out each season in turn (of a lone season, each eighth of its spells). Where
        `assess` refuses, one blank row with the reason; blank, too, where fewer than 20 half-hours were
        listened to.

    Examples
    --------
    >>> from analysis import half_hours, open_tables, plain_curve
    >>> season = open_tables(None)  # the demo; the folder of your own review's tables in its place
    >>> cells = half_hours(season.spots, season.listening, band="6m", mechanism="ES")
    >>> by_hour = plain_curve(cells, by="hour")
    >>> bool(8 < by_hour.loc[by_hour["chance"].idxmax(), "hour"] < 20)
    True
    """
    verdict, table = assess(cells, tier=tier), counted(cells)
    listened = table[["opened", "shut"]].sum(axis=1).groupby(table[by]).sum()
    judged: dict[str, Any] = {"seasons": table["season"].nunique(), "tier": tier}
    judged |= {"verdict": verdict.status, "reason": verdict.reason}
    if verdict.status == "refuse":
        blank = dict.fromkeys([by, "chance", "low", "high"], np.nan)
        return pd.DataFrame([blank | {"n_monitored": int(listened.sum())} | judged])
    chance, error, parts = _jackknifed(table, by=by, formula=formula)
    factor = np.exp(error * t.ppf((1 + LEVEL) / 2, parts - 1))
    curve = pd.DataFrame({by: listened.index, "chance": chance, "low": chance / factor})
    curve["high"], curve["n_monitored"] = np.minimum(chance * factor, 1), listened.to_numpy()
    curve.loc[curve["n_monitored"] < BINS_NEEDED, ["chance", "low", "high"]] = np.nan
    if by == "season_day":
        judged["date"] = date_text(curve[by].to_numpy(), count(cells)).to_numpy()
    return curve.assign(**judged)


def _jackknifed(table: pd.DataFrame, *, by: str, formula: str) -> tuple[np.ndarray, np.ndarray, int]:
    """Chances, the jackknife error of their logarithms, and how many parts were left out in turn."""
    part = table["season"].to_numpy()
    part = part if np.ptp(part) else (table["spell"] % LONE_PARTS).to_numpy()
    left_out = np.unique(part)
    whole = _averaged(fit_plain(table, formula=formula), table, by=by)
    refits = [
        _averaged(fit_plain(kept, formula=formula), table, by=by, seasons=kept["season"].unique())
        for kept in (table[part != one] for one in left_out)
    ]
    spread = np.log(refits).var(axis=0) * (len(left_out) - 1)
    return whole, np.sqrt(spread), len(left_out)


def _averaged(
    fitted: GLMResultsWrapper, table: pd.DataFrame, *, by: str, seasons: np.ndarray | None = None
) -> np.ndarray:
    """Fitted chance at each x of the table, averaged over the other cycle as listened to, seasons alike."""
    other = "season_day" if by == "hour" else "hour"
    weight = table[["opened", "shut"]].sum(axis=1).groupby(table[other]).sum()
    axes = [np.unique(table[by]), table["season"].unique() if seasons is None else seasons, weight.index]
    asked = pd.MultiIndex.from_product(axes, names=[by, "season", other]).to_frame(index=False)  # type: ignore[arg-type, var-annotated]
    chances = fitted.predict(asked).to_numpy().reshape(len(axes[0]), len(axes[1]), len(weight))
    return chances.mean(axis=1) @ (weight / weight.sum()).to_numpy()
