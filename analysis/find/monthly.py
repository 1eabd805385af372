"""Path density month by month: path-kilometres in each cell, divided by the hours that stations listened."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy import sparse

from analysis.find import grid
from analysis.tag import sun

LEAST_HOURS = 50  # a month listened to for less gives no rate
SLOT_S = 1800  # half an hour, the grain of every curve
WINDOW_PATHS = 5000  # speed: a draw of the paths places the window


@dataclass(frozen=True)
class Monthly:
    """Density of each month on one ground.

    `cells` are (tall, wide), in path-km per 1 000 km² and, for rates, 1 000 station-hours.
    """

    ground: grid.Ground
    months: list[int]
    cells: list[NDArray]
    hours: list[float]  # station-hours listened in each month, empty for counts
    means: list[float]  # over the whole window
    n_paths: int
    n_off: int  # of those paths, how many leave the map
    share_used: float  # of the reports, what was heard by stations known to listen
    rate: bool  # else counts, because nobody's listening is known

    @property
    def unit(self) -> str:
        """What a cell says, in full."""
        return (
            "Path-km per 1,000 km² for each 1,000 hours that a station listened"
            if self.rate
            else "Path-km per 1,000 km²"
        )

    @property
    def short_unit(self) -> str:
        """What a cell says, for a colour scale."""
        return "path-km per 1,000 km² and 1,000 station-hours" if self.rate else "path-km per 1,000 km²"


def monthly_density(
    spots: pd.DataFrame,
    listening: pd.DataFrame,
    *,
    band: str,
    home: str,
    cell_km: float = 100.0,
) -> Monthly:
    """Density of the paths of some spots, all of one series, in each calendar month (UTC).

    A path counts once in each half-hour. For a rate only reports count whose receiver is known to have
    been listening; months with less than 50 station-hours are left out, those that brought nothing are kept.

    Parameters
    ----------
    spots : DataFrame
        Tagged spots of one band and mechanism.
    listening : DataFrame
        `station band start end basis`.
    band, home : str
    cell_km : float
        Side of a cell [km].
    """
    spans = listening[listening["band"].astype(str) == band]
    rate = not spans.empty
    used = listened(spots, spans) if rate else np.ones(len(spots), bool)
    hours = hours_by_month(spans) if rate else None
    paths, code = grid.unique_paths(spots)
    ground = _window(paths, code, home=home, cell_km=cell_km)
    matrix, lengths = grid.path_matrix(paths, ground)
    tallies = _tallies(spots["time"], code, used & (code >= 0), n_paths=len(paths))
    # A month that was listened to and brought nothing is a finding; one that nobody listened to is none.
    kept = [m for m in range(1, 13) if (tallies[[m - 1]].sum() if hours is None else hours[m] >= LEAST_HOURS)]
    # Path-km per 1,000 km² and, for a rate, per 1,000 hours.
    scale = {m: 1000 / ground.cell_km**2 / (1.0 if hours is None else hours[m] / 1000) for m in kept}
    shape = (len(ground.y_edges) - 1, len(ground.x_edges) - 1)
    cells = [(tallies[[m - 1]] @ matrix).toarray().reshape(shape) * scale[m] for m in kept]
    heard = tallies.sum(axis=0) > 0
    return Monthly(
        ground=ground,
        months=kept,
        cells=cells,
        hours=[] if hours is None else [float(hours[m]) for m in kept],
        means=[float(cell.mean()) for cell in cells],
        n_paths=int(heard.sum()),
        n_off=int((heard & (matrix.sum(axis=1) < lengths - 1)).sum()),
        share_used=float(used.mean()),
        rate=rate,
    )


def crossable(
    spots: pd.DataFrame, listening: pd.DataFrame, ground: grid.Ground, *, reach_km: float
) -> NDArray:
    """Whether a path between a sender and somebody who listened could have run through each cell.

    Parameters
    ----------
    spots : DataFrame
        Every tagged spot of one band, whatever brought it; they say where senders and receivers are.
    listening : DataFrame
        `station` of those who listened; empty where that is not known of anybody, and every receiver counts.
    reach_km : float
        Longest path to think of.

    Returns
    -------
    array of bool
        (tall, wide), as the cells of `Monthly`.
    """
    sure = spots[spots["doubt"] == ""] if "doubt" in spots else spots
    heard = sure if listening.empty else sure[sure["rx_call"].isin(listening["station"])]
    ends = [
        pd.Series(rows.astype(str).str[:4].unique(), name=name)
        for rows, name in ((sure["tx_locator"], "tx_locator"), (heard["rx_locator"], "rx_locator"))
    ]
    paths, _ = grid.unique_paths(ends[0].to_frame().merge(ends[1].to_frame(), how="cross"))
    shape = (len(ground.y_edges) - 1, len(ground.x_edges) - 1)
    if paths.empty:
        return np.zeros(shape, bool)
    matrix, lengths = grid.path_matrix(paths, ground)
    return np.asarray(matrix[lengths <= reach_km].sum(axis=0) > 0).reshape(shape)


def listened(spots: pd.DataFrame, spans: pd.DataFrame) -> NDArray:
    """Whether each report fell into a span in which its receiver is known to have listened.

    Parameters
    ----------
    spots : DataFrame
        `time`, `rx_call`.
    spans : DataFrame
        `station start end` of one band; spans of one station never overlap.
    """
    stations = pd.Index(spans["station"].astype(str).unique())
    station = stations.get_indexer(spans["station"].astype(str))
    receiver = stations.get_indexer(spots["rx_call"].astype(str))
    start, end, time = (sun.unix_seconds(column) for column in (spans["start"], spans["end"], spots["time"]))
    # Stations laid end to end on one long axis, so that one search serves them all.
    room = max(end.max(), time.max() if len(time) else 0.0) + 1
    order = np.argsort(station * room + start)
    place = np.searchsorted((station * room + start)[order], receiver * room + time, side="right") - 1
    last = order[np.maximum(place, 0)]
    return (receiver >= 0) & (place >= 0) & (station[last] == receiver) & (time < end[last])


def hours_by_month(spans: pd.DataFrame) -> pd.Series:
    """Station-hours listened in each calendar month (UTC), all years together; index 1–12."""
    total = pd.Series(0.0, index=range(1, 13))
    if spans.empty:
        return total
    start, end = sun.unix_seconds(spans["start"]), sun.unix_seconds(spans["end"])
    first = pd.Timestamp(start.min(), unit="s").to_period("M")
    last = pd.Timestamp(end.max(), unit="s").to_period("M")
    for month in pd.period_range(first, last, freq="M"):
        low, high = month.start_time.timestamp(), (month + 1).start_time.timestamp()
        total[month.month] += np.clip(np.minimum(end, high) - np.maximum(start, low), 0, None).sum() / 3600
    return total


def _window(paths: pd.DataFrame, code: NDArray, *, home: str, cell_km: float) -> grid.Ground:
    """Window for the paths, each weighing as often as it was heard; some thousands of them show where."""
    chosen = np.sort(np.random.default_rng(0).permutation(len(paths))[:WINDOW_PATHS])
    points = grid.great_circles(paths.iloc[chosen].reset_index(drop=True))
    times = np.bincount(code[code >= 0], minlength=len(paths))[chosen]
    weight = grid.shared_out(times, points)
    return grid.ground_for(points["lon"], points["lat"], weight=weight, home=home, cell_km=cell_km)


def _tallies(times: pd.Series, code: NDArray, used: NDArray, *, n_paths: int) -> sparse.csr_array:
    """Half-hours in which each path was heard, shape (12 months, paths)."""
    table = pd.DataFrame(
        {"path": code, "slot": sun.unix_seconds(times) // SLOT_S, "month": times.dt.month.to_numpy()}
    )
    seen = table[used].drop_duplicates(["path", "slot"])
    return sparse.coo_array(
        (np.ones(len(seen)), (seen["month"].to_numpy() - 1, seen["path"].to_numpy())), shape=(12, n_paths)
    ).tocsr()
