"""Openings: runs of reports by one mechanism on one band, parted by silence and never by midnight."""

from __future__ import annotations

import numpy as np
import pandas as pd

from analysis.find import intervals
from analysis.find.gaps import bout_gap
from analysis.find.listening import series_listening

NO_OPENING = ("", "undetermined", "LOS", "MS", "AS")  # local, or over in seconds
BY_PATH_TYPE = ("TR",)  # what lies under the path matters to tropo only
SERIES = ["band", "mechanism", "path_type"]
CONFIRMED, PROBABLE = (3, 2), (2, 2)  # reports, stations
LONGEST_EXTENSION_MIN = 30.0
GAPS_MIN = (20, 30, 60, 90, 120)
RULES = (CONFIRMED, PROBABLE, (1, 1))
COLUMNS = {
    "opening": "Int64",
    "band": "str",
    "mechanism": "str",
    "start": "datetime64[us, UTC]",
    "end": "datetime64[us, UTC]",
    "start_censored": "bool",
    "end_censored": "bool",
    "duration_min": "float64",
    "grade": "str",
    "n_spots": "int64",
    "n_paths": "int64",
    "n_stations": "int64",
    "max_km": "float64",
    "median_km": "float64",
    "path_type": "str",
    "mid_lat": "float64",
    "mid_lon": "float64",
}


def label_openings(
    spots: pd.DataFrame, *, gap_min: float | None = None, min_spots: int = 3, min_stations: int = 2
) -> pd.Series:
    """Number of the opening that each report belongs to.

    Parameters
    ----------
    spots : DataFrame
        Tagged spots, in any order.
    gap_min : float, optional
        Longest silence inside an opening [min]; by default each series' own bout criterion.
    min_spots, min_stations : int
        An opening has at least so many reports, and stations at the better manned end of its paths.

    Returns
    -------
    Series of Int64
        From 1, openings in order of time; NA for reports that belong to none. Index of `spots`.
    """
    rows = _rows(spots, gap_min=gap_min)
    runs = _counts(rows)
    kept = runs[(runs["n_spots"] >= min_spots) & (runs["n_stations"] >= min_stations)]
    return _numbers(rows, kept, spots)


def find_openings(
    spots: pd.DataFrame, *, listening: pd.DataFrame | None = None, gap_min: float | None = None
) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Spots with their opening, and the openings.

    Parameters
    ----------
    spots : DataFrame
        Tagged spots.
    listening : DataFrame, optional
        `station band start end basis`. Without it nobody is known to have listened before or after,
        and every start and end is censored.
    gap_min : float, optional
        Longest silence inside an opening [min]; by default each series' own bout criterion.

    Returns
    -------
    spots : DataFrame
        The same rows with `opening` (Int64) added.
    openings : DataFrame
        Columns of `COLUMNS`, by number. Grades: confirmed (3 reports, 2 stations or more), probable
        (2 and 2), single (less: one pair of stations again and again, or one contact). A report that
        was heard once stays isolated and makes no opening; a contact does, because two stations heard
        each other. `start` and `end` are the first and last report; `duration_min` is corrected for
        what sampling misses at both ends, NaN for a single report. A start or end is censored when
        nobody is known to have listened during the gap before or after it: the opening may be longer.
    """
    rows = _rows(spots, gap_min=gap_min)
    runs = _counts(rows)
    kept = runs[(runs["n_spots"] >= 2) | runs["worked"]]
    numbers = _numbers(rows, kept, spots)
    rows = rows.assign(opening=numbers.reindex(rows.index))
    table = _summary(rows[rows["opening"].notna()])
    table["start_censored"], table["end_censored"] = _censored(table, spots, listening)
    table = table.reset_index().astype(COLUMNS)[list(COLUMNS)]
    return spots.assign(opening=numbers), table


def opening_sensitivity(spots: pd.DataFrame) -> pd.DataFrame:
    """How much the openings depend on the gap and the rule.

    Returns
    -------
    DataFrame
        `band mechanism path_type gap_min min_spots min_stations n_openings open_hours median_min chosen`:
        one row per series, gap of 20 to 120 minutes (and the series' own) and rule; hours are corrected
        durations added up, `chosen` marks the own gap.
    """
    own = _by_rule(_rows(spots, gap_min=None)).assign(chosen=True)
    fixed = [_by_rule(_rows(spots, gap_min=gap)).assign(chosen=False) for gap in GAPS_MIN]
    key = [*SERIES, "gap_min", "min_spots", "min_stations"]
    # The own gap may be one of the fixed ones.
    table = pd.concat([own, *fixed], ignore_index=True).drop_duplicates(key)
    return table.sort_values(key, ascending=[True] * 4 + [False] * 2, ignore_index=True)


def makes_openings(spots: pd.DataFrame) -> pd.Series:
    """Mask of reports that can belong to an opening: a mechanism that opens a band, and no doubt."""
    return (
        ~spots["mechanism"].astype("str").isin(NO_OPENING)
        & spots["mechanism"].notna()
        & (spots["doubt"] == "")
    )


def corrected_duration(span_min: pd.Series, n_spots: pd.Series) -> pd.Series:
    """Length of an opening of which `n_spots` random moments are known [min].

    The span between the first and the last of k points spread evenly at random over a length L is
    L (k − 1)/(k + 1) on average; the extension is held to 30 minutes. NaN for one report.
    """
    extension = (2 * span_min / (n_spots - 1).where(n_spots > 1)).clip(upper=LONGEST_EXTENSION_MIN)
    return span_min + extension


def _rows(spots: pd.DataFrame, *, gap_min: float | None) -> pd.DataFrame:
    """Reports that can make openings with their series, gap and run, sorted by series and time."""
    spots = spots[makes_openings(spots)]
    names = ["tx_call", "rx_call", "distance_km", "mid_lon", "mid_lat"]
    rows = spots[names].assign(
        band=spots["band"].astype("str"),
        mechanism=spots["mechanism"].astype("str"),
        minute=intervals.minutes(spots["time"]),
        worked=(spots["kind"] == "worked").to_numpy(),
    )
    parted = rows["mechanism"].isin(BY_PATH_TYPE)
    rows["path_type"] = spots["path_type"].astype("str").where(parted, "all")
    rows = rows.sort_values([*SERIES, "minute"], kind="stable")
    if gap_min is None:
        gap = rows.groupby(SERIES)["minute"].transform(lambda own: bout_gap(intervals.times(own.to_numpy())))
        rows["gap_min"] = gap.astype(float)
    else:
        rows["gap_min"] = float(gap_min)
    fresh = (rows[SERIES] != rows[SERIES].shift()).any(axis=1)
    rows["run"] = (fresh | (rows["minute"].diff() > rows["gap_min"])).cumsum().astype("int64")
    return rows


def _counts(rows: pd.DataFrame) -> pd.DataFrame:
    """Per run: first minute, reports, paths, stations at the better manned end, any contact."""
    runs = rows.groupby("run")
    pairs = rows[["run", "tx_call", "rx_call"]].drop_duplicates()
    paths = pairs.groupby("run")
    ends = pairs.replace("", np.nan).groupby("run")[["tx_call", "rx_call"]].nunique().max(axis=1)
    return pd.DataFrame(
        {
            "first": runs["minute"].first(),
            "n_spots": runs.size(),
            "n_paths": paths.size(),
            "n_stations": ends,
            "worked": runs["worked"].any(),
        }
    )


def _numbers(rows: pd.DataFrame, kept: pd.DataFrame, spots: pd.DataFrame) -> pd.Series:
    """Opening numbers from 1 in order of time, for every row of the spot table."""
    order = kept.sort_values("first", kind="stable").index
    number = pd.Series(np.arange(1, len(order) + 1), index=order)
    numbers = pd.Series(pd.NA, index=spots.index, dtype="Int64")
    labels = rows["run"].map(number).astype("Int64")
    numbers.loc[labels.index] = labels
    return numbers


def _summary(rows: pd.DataFrame) -> pd.DataFrame:
    """One row per opening, index `opening`."""
    runs = rows.groupby("opening")
    counts = _counts(rows.assign(run=rows["opening"].astype("int64")))
    table = (
        counts[["n_spots", "n_paths", "n_stations"]]
        .join(runs[SERIES].first())
        .join(runs[["gap_min"]].first())
    )
    table.index.name = "opening"
    first, last = runs["minute"].min(), runs["minute"].max()
    table["start"], table["end"] = intervals.times(first), intervals.times(last)
    table["duration_min"] = corrected_duration((last - first).astype(float), table["n_spots"])
    table["grade"] = _grade(table)
    table["max_km"] = runs["distance_km"].max()
    table["median_km"] = runs["distance_km"].median()
    table["mid_lat"] = runs["mid_lat"].median()
    table["mid_lon"] = median_lon(rows["mid_lon"], rows["opening"])
    return table


def _grade(table: pd.DataFrame) -> np.ndarray:
    meets = [
        (table["n_spots"] >= spots) & (table["n_stations"] >= stations)
        for spots, stations in (CONFIRMED, PROBABLE)
    ]
    return np.select(meets, ["confirmed", "probable"], "single")


def median_lon(lon: pd.Series, groups: pd.Series) -> pd.Series:
    """Median longitude per group [degrees east, −180 to 180], right across the date line."""
    turn = np.radians(lon.astype(float))
    sums = pd.DataFrame({"x": np.cos(turn), "y": np.sin(turn)}).groupby(groups).sum()
    centre = pd.Series(np.degrees(np.arctan2(sums["y"], sums["x"])), index=sums.index)
    off = (lon.astype(float) - groups.map(centre).astype(float) + 180) % 360 - 180
    return (centre + off.groupby(groups).median() + 180) % 360 - 180


def _censored(
    table: pd.DataFrame, spots: pd.DataFrame, listening: pd.DataFrame | None
) -> tuple[np.ndarray, np.ndarray]:
    """Whether nobody is known to have listened in the gap before the start and after the end."""
    start, end = np.ones(len(table), dtype=bool), np.ones(len(table), dtype=bool)
    if listening is None:
        return start, end
    first, last = intervals.minutes(table["start"]), intervals.minutes(table["end"])
    gap = table["gap_min"].to_numpy()
    for key in table[SERIES[:2]].drop_duplicates().itertuples(index=False):
        on = ((table["band"] == key.band) & (table["mechanism"] == key.mechanism)).to_numpy()
        known = series_listening(spots, listening, band=str(key.band), mechanism=str(key.mechanism))
        feed = intervals.union(known.assign(station=""))
        start[on] = ~_touched(feed, first[on] - gap[on], first[on])
        end[on] = ~_touched(feed, last[on], last[on] + gap[on])
    return start, end


def _touched(feed: pd.DataFrame, start: np.ndarray, end: np.ndarray) -> np.ndarray:
    """Whether any of the sorted, disjoint spans of the feed reaches into [start, end)."""
    opens, closes = intervals.minutes(feed["start"]), intervals.minutes(feed["end"])
    if not len(opens):
        return np.zeros(len(start), dtype=bool)
    nearest = np.searchsorted(closes, start, side="right")  # first span that closes after the start
    return (nearest < len(opens)) & (opens[np.minimum(nearest, len(opens) - 1)] < end)


def _by_rule(rows: pd.DataFrame) -> pd.DataFrame:
    """Openings, hours and median length per series under each rule."""
    runs = _counts(rows).join(rows.groupby("run")[[*SERIES, "gap_min"]].first())
    span = rows.groupby("run")["minute"].agg(lambda own: own.iloc[-1] - own.iloc[0])
    runs["length"] = corrected_duration(span, runs["n_spots"])
    found = []
    for spots, stations in RULES:
        meets = runs[(runs["n_spots"] >= spots) & (runs["n_stations"] >= stations)]
        by = meets.groupby([*SERIES, "gap_min"])["length"]
        table = pd.DataFrame(
            {"n_openings": by.size(), "open_hours": by.sum() / 60, "median_min": by.median()}
        )
        found.append(table.reset_index().assign(min_spots=spots, min_stations=stations))
    order = [*SERIES, "gap_min", "min_spots", "min_stations", "n_openings", "open_hours", "median_min"]
    return pd.concat(found, ignore_index=True)[order]
