"""How good were the chances? Seasons forecast from other seasons, scored against what happened.

Three forecasts of the same windows stand side by side: the day model, a flat one (the same chance on
every date) and the naive calendar (in how many of the other seasons the same window was good).
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pandas as pd
from scipy.stats import t

from analysis.fit.ahead.daymodel import fit_days
from analysis.fit.ahead.spells import LENGTH, count_chances
from analysis.fit.assess import seasons_covered
from analysis.fit.model.curves import LEVEL
from analysis.fit.model.harmonics import SEASON_DAYS

FORECASTS = ("model", "flat", "calendar")
TENTHS = np.linspace(0, 1, 11)  # definition
RESAMPLES = 1000  # speed
SEED = 20250622  # any
LEAST_CHANCE = 0.005  # a calendar that says never or always would score minus infinity


def back_test(
    days: pd.DataFrame, *, length: int = LENGTH, counts: Sequence[int] = (1,), train: int | None = None
) -> pd.DataFrame:
    """Forecasts of every fully monitored window of every season, from seasons it was not part of.

    Parameters
    ----------
    days : DataFrame
        As `days.model_days` returns them.
    length : int
        Days in a window.
    counts : sequence of int
        Opening days that the chances are of.
    train : int, optional
        Forecast each season from the `train` seasons before it only; by default each season is left
        out in turn and forecast from all others, earlier and later.

    Returns
    -------
    DataFrame
        `season season_day length at_least model flat calendar happened`, and `n_days` that were open with
        the model's, the flat and the calendar's ranked probability score of it (`crps_model
        crps_flat crps_calendar`). Empty with fewer than two seasons; a few days at a year's end are none.
    """
    listened = seasons_covered(days.loc[days["monitored"], "season"])
    days = days[days["season"].isin(listened)]
    happened = _windows(days, length=length)
    seasons = sorted(int(season) for season in happened["season"].unique())
    parts = []
    for season in seasons:
        others = [
            one for one in seasons if (one != season if train is None else season - train <= one < season)
        ]
        if len(others) >= (train or 1):
            parts.append(_forecast(days, happened, season, others, length=length, counts=counts))
    columns = ["season", "season_day", "length", "at_least", *FORECASTS, "happened"]
    return pd.concat(parts, ignore_index=True) if parts else pd.DataFrame(columns=columns)


def scores(forecasts: pd.DataFrame) -> pd.DataFrame:
    """Scores of back-tested forecasts with their intervals.

    Parameters
    ----------
    forecasts : DataFrame
        As `back_test` returns them.

    Returns
    -------
    DataFrame
        `at_least score against value low high seasons windows`. Brier score, log score and CRPS of
        the model (smaller is better) have `against` empty; the skills are one minus the ratio of the
        model's Brier score (or CRPS) to that of the forecast in `against`. Intervals (90 %) leave out
        one season at a time, Student's t.

    References
    ----------
    Wilks, Statistical Methods in the Atmospheric Sciences, 3rd ed. 2011, sections 8.4 and 8.5.
    """
    rows = []
    for at_least, part in forecasts.groupby("at_least"):
        losses = _losses(part).groupby(part["season"]).sum()
        windows = part.groupby("season").size()
        for name in ("brier", "log", "crps"):
            rows.append((at_least, name, "", *_ratio(losses[f"{name}_model"], windows), len(part)))
        for name, other in (("brier", "flat"), ("brier", "calendar"), ("crps", "flat"), ("crps", "calendar")):
            found = _ratio(losses[f"{name}_model"], losses[f"{name}_{other}"])
            # One minus a ratio turns its interval round.
            value, low, high = (1 - found[i] for i in (0, 2, 1))
            rows.append((at_least, f"{name} skill", other, value, low, high, found[3], len(part)))
    columns = ["at_least", "score", "against", "value", "low", "high", "seasons", "windows"]
    return pd.DataFrame(rows, columns=columns)


def reliability(forecasts: pd.DataFrame, *, forecast: str = "model", seed: int = SEED) -> pd.DataFrame:
    """Of the windows given about this chance, how many came true?

    Parameters
    ----------
    forecasts : DataFrame
        As `back_test` returns them.
    forecast : str
        Column of chances to judge.
    seed : int
        Of the season resampling.

    Returns
    -------
    DataFrame
        `at_least tenth n chance share low high`: mean chance and share that came true in each tenth
        of the chances, with a 90 % band from resampled seasons (windows of one season hang together).
    """
    columns = ["at_least", "tenth", "n", "chance", "share", "low", "high"]
    rng = np.random.default_rng(seed)
    tables = [pd.DataFrame(columns=columns)] if forecasts.empty else []
    for at_least, part in forecasts.groupby("at_least"):
        tenth = (part[forecast] * 10).astype("int64").clip(0, 9).rename("tenth")
        sums = part.assign(one=1.0).groupby([part["season"], tenth])[["one", forecast, "happened"]].sum()
        table = sums.groupby("tenth").sum().set_axis(["n", "chance", "share"], axis=1).astype(float)
        table[["chance", "share"]] = table[["chance", "share"]].div(table["n"], axis=0)
        hits, shown = (
            sums.pivot_table(index="season", columns="tenth", values=name, fill_value=0)
            for name in ("happened", "one")
        )
        drawn = rng.multinomial(len(hits), np.full(len(hits), 1 / len(hits)), size=RESAMPLES)
        with np.errstate(invalid="ignore"):
            share = (drawn @ hits.to_numpy(float)) / (drawn @ shown.to_numpy(float))
        table["low"], table["high"] = np.nanquantile(share, [(1 - LEVEL) / 2, (1 + LEVEL) / 2], axis=0)
        tables.append(table.reset_index().assign(at_least=at_least))
    return pd.concat(tables, ignore_index=True)[columns].astype({"n": "int64"})


def _windows(days: pd.DataFrame, *, length: int) -> pd.DataFrame:
    """Opening days in every window all of whose days were monitored, follow one another and share a season."""
    days = days.sort_values("date").reset_index(drop=True)
    whole = days["monitored"].rolling(length).sum().shift(1 - length) == length
    # A window across the turn of the season would tell the forecast of one what happened in the other.
    one_season = days["season"].shift(1 - length) == days["season"]
    straight = days["date"].shift(1 - length) - days["date"] == pd.Timedelta(days=length - 1)
    n_days = days["open"].astype(float).rolling(length).sum().shift(1 - length)
    found = days[["season", "season_day"]].assign(n_days=n_days)[whole & straight & one_season]
    return found.assign(season_day=found["season_day"].clip(SEASON_DAYS[0], SEASON_DAYS[-1])).astype("int64")


def _forecast(days, happened, season, others, *, length, counts) -> pd.DataFrame:
    """The three forecasts of one season, a block of rows per count."""
    exactly = count_chances(fit_days(days[days["season"].isin(others)]), length=length)
    now = happened[happened["season"] == season]
    past = happened[happened["season"].isin(others)]
    rows = now["season_day"].to_numpy() - SEASON_DAYS[0]
    model = exactly[rows]
    flat = np.broadcast_to(_shares(past["n_days"], length), model.shape)
    calendar = _calendar(past, length=length, otherwise=flat[0])[rows]
    rps = {
        f"crps_{name}": _crps(table, now["n_days"])
        for name, table in zip(FORECASTS, (model, flat, calendar), strict=True)
    }
    blocks = [
        now.assign(
            length=length,
            at_least=count,
            happened=now["n_days"] >= count,
            **{
                name: table[:, count:].sum(axis=1)
                for name, table in zip(FORECASTS, (model, flat, calendar), strict=True)
            },
            **rps,
        )
        for count in counts
    ]
    return pd.concat(blocks, ignore_index=True)


def _shares(n_days: pd.Series, length: int) -> np.ndarray:
    """Share of windows with 0 .. length opening days."""
    return np.bincount(n_days, minlength=length + 1) / max(len(n_days), 1)


def _calendar(past: pd.DataFrame, *, length: int, otherwise: np.ndarray) -> np.ndarray:
    """Shares by season day over the past seasons; `otherwise` where none was listened to."""
    table = np.zeros((len(SEASON_DAYS), length + 1))
    np.add.at(table, (past["season_day"] - SEASON_DAYS[0], past["n_days"]), 1.0)
    total = table.sum(axis=1, keepdims=True)
    return np.where(total > 0, table / np.maximum(total, 1), otherwise)


def _crps(exactly: np.ndarray, n_days: pd.Series) -> np.ndarray:
    """Continuous ranked probability score of a number of days."""
    reached = np.arange(exactly.shape[1])[None, :] >= n_days.to_numpy()[:, None]
    return ((exactly.cumsum(axis=1) - reached) ** 2).sum(axis=1)


def _losses(part: pd.DataFrame) -> pd.DataFrame:
    """Brier, log and ranked probability score of each forecast of each window."""
    losses: dict[str, pd.Series] = {}
    for name in FORECASTS:
        chance = part[name].clip(LEAST_CHANCE, 1 - LEAST_CHANCE)
        losses[f"brier_{name}"] = (part[name] - part["happened"]) ** 2
        losses[f"log_{name}"] = -np.log(chance.where(part["happened"], 1 - chance))
        losses[f"crps_{name}"] = part[f"crps_{name}"]
    return pd.DataFrame(losses, index=part.index)


def _ratio(above: pd.Series, below: pd.Series) -> tuple[float, float, float, int]:
    """Ratio of two sums over seasons, its 90 % interval by leaving out seasons, and their number."""
    n = len(above)
    if not below.sum():
        return np.nan, np.nan, np.nan, n
    value = above.sum() / below.sum()
    if n < 2:
        return float(value), np.nan, np.nan, n
    left_out = (above.sum() - above) / (below.sum() - below)
    reach = t.ppf((1 + LEVEL) / 2, n - 1) * np.sqrt((n - 1) / n * ((left_out - left_out.mean()) ** 2).sum())
    return float(value), float(value - reach), float(value + reach), n
