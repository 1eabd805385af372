"""Whether an opening began or ended while somebody within its reach was known to listen."""

from __future__ import annotations

import numpy as np
import pandas as pd

from analysis.find import intervals, reach
from analysis.find.hearers import station_squares
from analysis.find.listening import series_listening
from analysis.gather import locators
from analysis.physics import earth

WITHIN_KM = {"ES": reach.LONGEST_HOP_KM / 2}  # of the place that bends the paths
NEARBY_KM = 500.0  # of the middle of others, beside half their extent (judgement)


def censored(
    table: pd.DataFrame, spots: pd.DataFrame, listening: pd.DataFrame | None
) -> tuple[np.ndarray, np.ndarray]:
    """Whether nobody within reach is known to have listened in the gap before the start and after the end.

    Parameters
    ----------
    table : DataFrame
        `band mechanism start end gap_min mid_lon mid_lat extent_km`, one row per opening.
    spots : DataFrame
        Tagged spots; they tell where stations are.
    listening : DataFrame or None
        `station band start end basis`.

    Returns
    -------
    start, end : ndarray of bool
        A listener or an opening whose place is not known is within reach of anything.
    """
    start, end = np.ones(len(table), dtype=bool), np.ones(len(table), dtype=bool)
    if listening is None or table.empty:
        return start, end
    squares = station_squares(spots)
    for key in table[["band", "mechanism"]].drop_duplicates().itertuples(index=False):
        on = ((table["band"] == key.band) & (table["mechanism"] == key.mechanism)).to_numpy()
        known = series_listening(spots, listening, band=str(key.band), mechanism=str(key.mechanism))
        square = squares.reindex(known["station"].astype("str")).astype("str").fillna("")
        known = known.assign(square=square.to_numpy())
        before, after = _heard_around(table[on], known)
        start[on], end[on] = ~before, ~after
    return start, end


def _heard_around(openings: pd.DataFrame, known: pd.DataFrame) -> tuple[np.ndarray, np.ndarray]:
    """Whether anybody within reach listened before the start and after the end of each opening."""
    first, last = intervals.minutes(openings["start"]), intervals.minutes(openings["end"])
    gap = openings["gap_min"].to_numpy()
    middle = earth.directions(lon=openings["mid_lon"], lat=openings["mid_lat"])
    far = WITHIN_KM.get(str(openings["mechanism"].iloc[0]), NEARBY_KM)
    far = far + openings["extent_km"].fillna(0).to_numpy() / 2  # type: ignore[assignment]
    before, after = np.zeros(len(openings), dtype=bool), np.zeros(len(openings), dtype=bool)
    feeds = intervals.union(known.assign(station=known["square"]))
    opens, closes = intervals.minutes(feeds["start"]), intervals.minutes(feeds["end"])
    rows = feeds.groupby("station").indices
    places = locators.centre(pd.Series(list(rows), dtype="str"))
    points = earth.directions(lon=places["lon"], lat=places["lat"])
    for own, point in zip(rows.values(), points, strict=True):
        within = ~(earth.apart_km(middle, point) > far)
        before |= within & _touched(opens[own], closes[own], first - gap, first)
        after |= within & _touched(opens[own], closes[own], last, last + gap)
    return before, after


def _touched(opens: np.ndarray, closes: np.ndarray, start: np.ndarray, end: np.ndarray) -> np.ndarray:
    """Whether any of sorted, disjoint spans reaches into [start, end)."""
    nearest = np.searchsorted(closes, start, side="right")  # first span that closes after the start
    return (nearest < len(opens)) & (opens[np.minimum(nearest, len(opens) - 1)] < end)
