"""Half-hour cells counted into classes of season, five days and half-hour, which every fit works on."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from analysis.fit.assess import seasons_covered

FIRST_DAY = -183  # definition: half a year before the solstice
BLOCK_DAYS = 5  # judgement: short against a season, long against a spell of one opening
BLOCKS = 74  # definition: five-day blocks in a year


@dataclass(frozen=True)
class Counts:
    """Classes with at least one monitored half-hour, and what was heard in them.

    `classes` has columns `season_index half block bins open_bins slots`; `looks` counts the `bins` of
    each class (`row`) with so many listening station-slots (`slots`) of which so many had a detection
    (`hits`). `by_hour` and `by_day` count every half-hour covered, monitored or not: columns `bins
    monitored open_bins`. `stretch` (blocks, 48) is the share of a day's half-hours that fall into each
    half-hour of the axis: even on the solar axis, while on the sun axis a summer day is long.
    `season_start` is the day of the year of season day 0.
    """

    seasons: np.ndarray
    classes: pd.DataFrame
    looks: pd.DataFrame
    by_hour: pd.DataFrame
    by_day: pd.DataFrame
    stretch: np.ndarray
    season_start: float


def count(cells: pd.DataFrame) -> Counts:
    """Count the cells of one series (columns of DEVELOPERS.md) into classes."""
    table = pd.DataFrame(
        {
            "season": cells["season"].astype("int64"),
            "half": np.floor(cells["hour"].to_numpy(dtype=float) * 2).astype("int64") % 48,
            "day": cells["season_day"].astype("int64"),
            "slots": cells["n_listening"].astype("int64"),
            "hits": np.minimum(cells["n_detected"], cells["n_listening"]).astype("int64"),
        }
    )
    table["block"] = (table["day"] - FIRST_DAY) // BLOCK_DAYS
    table["monitored"] = table["slots"] > 0
    table["open"] = table["hits"] > 0
    listened = table[table["monitored"]]
    seasons = seasons_covered(listened["season"])
    # The few days of a season that is not covered go with its neighbour.
    after = np.searchsorted(seasons, listened["season"])
    listened = listened.assign(season_index=np.minimum(after, len(seasons) - 1))
    classes, looks = _classes(listened)
    return Counts(
        seasons=seasons,
        classes=classes,
        looks=looks,
        by_hour=_coverage(table, "half", range(48)),
        by_day=_coverage(table, "day", range(-182, 183)),
        stretch=_stretch(table),
        season_start=_solstice(cells),
    )


def block_centre(block: np.ndarray) -> np.ndarray:
    """Season day in the middle of each five-day block."""
    return FIRST_DAY + BLOCK_DAYS * np.asarray(block) + BLOCK_DAYS // 2


def _classes(listened: pd.DataFrame) -> tuple[pd.DataFrame, pd.DataFrame]:
    keys = ["season_index", "block", "half"]
    classes = listened.groupby(keys).agg(
        bins=("open", "size"), open_bins=("open", "sum"), slots=("slots", "sum")
    )
    classes = classes.reset_index()
    classes["row"] = np.arange(len(classes))
    looks = listened.groupby([*keys, "slots", "hits"]).size().rename("bins").reset_index()
    looks = looks.merge(classes[[*keys, "row"]], on=keys, validate="many_to_one")
    return classes.drop(columns="row"), looks[["row", "slots", "hits", "bins"]]


def _coverage(table: pd.DataFrame, key: str, every: range) -> pd.DataFrame:
    by = table.groupby(key).agg(bins=("open", "size"), monitored=("monitored", "sum"))
    by["open_bins"] = table.loc[table["monitored"] & table["open"]].groupby(key).size()
    return by.reindex(every).fillna(0).astype("int64")


def _stretch(table: pd.DataFrame) -> np.ndarray:
    """Share of each half-hour of the axis in the half-hours of a block; even where nothing is known.

    The axis runs evenly from sunrise (6) to sunset (18) and evenly through the night, so counts are
    averaged over either part: how half-hours of the clock happen to fall would make curves jagged.
    """
    numbers = np.zeros((BLOCKS, 48))
    np.add.at(numbers, (table["block"].to_numpy(), table["half"].to_numpy()), 1)
    total = numbers.sum(axis=1, keepdims=True)
    share = np.where(total > 0, numbers / np.maximum(total, 1), 1 / 48)
    by_day = (np.arange(48) >= 12) & (np.arange(48) < 36)
    for part in (by_day, ~by_day):
        share[:, part] = share[:, part].mean(axis=1, keepdims=True)
    return share


def _solstice(cells: pd.DataFrame) -> float:
    """Day of the year that season day 0 falls on, read from the cells themselves."""
    if not len(cells):
        return np.nan
    day = cells["start"].dt.day_of_year.to_numpy(dtype=float) - cells["season_day"].to_numpy(dtype=float)
    return float(np.angle(np.exp(2j * np.pi * day / 365.25).mean()) / (2 * np.pi) * 365.25 % 365.25)
