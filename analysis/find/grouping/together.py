"""Which reports belong together: near in place and time, by where their paths were bent or ran."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
import pandas as pd

from analysis.find import intervals, reach
from analysis.find.grouping import clusters
from analysis.find.grouping.gaps import bout_gap
from analysis.find.once import once
from analysis.physics import earth
from analysis.tag.ordinary import within

NO_OPENING = ("", "undetermined", "LOS", "MS", "AS")  # local, or over in seconds
BY_PATH_TYPE = ("TR",)  # what lies under the path matters to tropo only
SERIES = ["band", "mechanism", "path_type"]
# Of one time and no farther apart, reports belong together. Sporadic E: stations within 600 to 900 km share
# half of what they share more than by chance. Tropo: of the corridors; others are seen by whole regions.
# Judgement; `python -m benchmarks.here` shows what other values do.
REACH_KM = {"ES": 600.0, "TR": 200.0}
WIDE_KM = 1500.0  # judgement: what is neither of the two is seen over half a continent
STEP_KM = 100.0  # between the places along a tropo path
SILENCE_KM = 300.0  # silences are counted between reports at one place: as near as a patch is wide


@once
def makes_openings(spots: pd.DataFrame) -> pd.Series:
    """Mask of reports that can belong to an opening: a mechanism that opens a band, no doubt, and no tropo
    within the ordinary range of its stations."""
    return (
        ~spots["mechanism"].isin(NO_OPENING)
        & spots["mechanism"].notna()
        & (spots["doubt"] == "")
        & ~within(spots)
    )


def reports(spots: pd.DataFrame) -> pd.DataFrame:
    """Reports that can make openings, with what places them, sorted by series and time.

    Returns
    -------
    DataFrame
        `tx_call rx_call tx_locator rx_locator distance_km mid_lon mid_lat hops band mechanism path_type
        minute worked`; `path_type` is `all` but for tropo. Index of `spots`.
    """
    spots = spots[makes_openings(spots)]
    names = ["tx_call", "rx_call", "tx_locator", "rx_locator", "distance_km", "mid_lon", "mid_lat"]
    rows = spots[names].assign(
        hops=spots["hops"].to_numpy() if "hops" in spots else 1,
        band=spots["band"].astype("str"),
        mechanism=spots["mechanism"].astype("str"),
        minute=intervals.minutes(spots["time"]),
        worked=(spots["kind"] == "worked").to_numpy(),
    )
    parted = rows["mechanism"].isin(BY_PATH_TYPE)
    rows["path_type"] = spots["path_type"].astype("str").where(parted, "all")
    return rows.sort_values([*SERIES, "minute"], kind="stable")


def runs_of(rows: pd.DataFrame, *, gaps: Sequence[float | None]) -> list[pd.DataFrame]:
    """Cluster of every report, for each of several longest silences.

    Parameters
    ----------
    rows : DataFrame
        As `reports` returns them.
    gaps : list of float
        Longest silence at one place inside a cluster [min]; None for each series' own bout criterion.

    Returns
    -------
    list of DataFrame
        For each gap `run` (a number, no cluster has reports of two series) and `gap_min`, index of `rows`.
    """
    tables = [pd.DataFrame({"run": 0, "gap_min": np.nan}, index=rows.index) for _ in gaps]
    positions = rows.groupby(SERIES).indices.values()
    for table in tables:
        table["run"] = table["run"].astype("int64")
    after = np.zeros(len(gaps), dtype=int)
    for own in positions:
        for k, (label, gap) in enumerate(_clustered(rows.iloc[own], gaps)):
            tables[k].iloc[own, 0], tables[k].iloc[own, 1] = label + after[k], gap
            after[k] += label.max() + 1
    return tables


def _clustered(rows: pd.DataFrame, gaps: Sequence[float | None]) -> list[tuple[np.ndarray, float]]:
    """Cluster of every report of one series, and the silence that parts them, for each gap."""
    # A pair of squares counts once a minute, however many stations live there.
    key = rows[["tx_locator", "rx_locator", "mid_lon", "mid_lat", "hops"]].assign(
        minute=np.floor(rows["minute"])
    )
    code = key.groupby(list(key.columns), dropna=False, sort=False).ngroup().to_numpy()
    once = rows.iloc[np.unique(code, return_index=True)[1]]
    mechanism = str(rows["mechanism"].iloc[0])
    row, points = _places(once, mechanism)
    minute = once["minute"].to_numpy()
    first = np.searchsorted(row, np.arange(len(once)))  # a report belongs where its first place does
    own = bout_gap(clusters.next_near(points[first], minute, reach_km=SILENCE_KM)) if None in gaps else 0.0
    how: dict[str, Any] = {"reach_km": REACH_KM.get(mechanism, WIDE_KM)}
    how |= {"owner": row} if mechanism == "TR" else {}
    found = []
    for gap in (own if one is None else float(one) for one in gaps):
        label = clusters.join(points, minute[row], gap_min=gap, **how)[first]
        found.append((np.unique(label, return_inverse=True)[1][code], gap))
    return found


def _places(rows: pd.DataFrame, mechanism: str) -> tuple[np.ndarray, np.ndarray]:
    """Where each report tells of an opening: row number and unit vector, the receiver's side first.

    Sporadic E: under the middle of every hop. Tropo: along the path. Others: the midpoint.
    """
    if mechanism == "ES":
        return reach.bends(rows)[:2]
    middle = earth.directions(lon=rows["mid_lon"], lat=rows["mid_lat"])
    if mechanism != "TR":
        return np.arange(len(rows)), middle
    number = np.ceil(np.nan_to_num(rows["distance_km"].to_numpy(dtype=float)) / STEP_KM).astype(int) + 1
    row = np.repeat(np.arange(len(rows)), number)
    step = np.arange(len(row)) - np.repeat(np.cumsum(number) - number, number)
    tx, rx = reach.ends(rows)
    points = earth.along(rx[row], tx[row], share=step / np.maximum(number - 1, 1)[row])
    return row, np.where(np.isnan(points), middle[row], points)
