"""Openings: reports by one mechanism on one band that lie near in place and time, never parted at midnight.

One clustering (`clusters.join`) of the places where paths were bent (sporadic E) or along which they ran
(tropo) makes the openings of the region. What home could have used of them, and what home and its
neighbours noticed, are runs of the same reports.
"""

from __future__ import annotations

import numpy as np
import pandas as pd

from analysis.find import intervals, reach
from analysis.find.grouping.censoring import censored
from analysis.find.grouping.closed import contradicted
from analysis.find.grouping.footprint import FOOTPRINT, footprint
from analysis.find.grouping.together import SERIES, reports, runs_of
from analysis.find.grouping.unusual import unusual
from analysis.find.grouping.witnessed import witnessed
from analysis.find.reach import HERE, NEIGHBOURS, REGION

CONFIRMED, PROBABLE = (3, 2), (2, 2)  # reports, stations
LONGEST_EXTENSION_MIN = 30.0  # judgement: no opening is lengthened by more than the grain of every curve
GAPS_MIN = (20, 30, 60, 90, 120)  # the rules held beside ours, not in use
RULES = (CONFIRMED, PROBABLE, (1, 1))  # reports and stations of each grade, the lone report last
COLUMNS = {
    "scope": "str",
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
    **FOOTPRINT,
    "gap_min": "float64",
    "unusual": "float64",
}


def label_openings(
    spots: pd.DataFrame, *, gap_min: float | None = None, min_spots: int = 3, min_stations: int = 2
) -> pd.Series:
    """Number of the opening of the region that each report belongs to.

    Parameters
    ----------
    spots : DataFrame
        Tagged spots, in any order.
    gap_min : float, optional
        Longest silence at one place inside an opening [min]; by default each series' own bout criterion.
    min_spots, min_stations : int
        An opening has at least so many reports, and stations at the better manned end of its paths.

    Returns
    -------
    Series of Int64
        From 1, openings in order of time; NA for reports that belong to none. Index of `spots`.
    """
    rows = reports(spots)
    rows[["run", "gap_min"]] = runs_of(rows, gaps=[gap_min])[0]
    runs = _counts(rows)
    kept = runs[(runs["n_spots"] >= min_spots) & (runs["n_stations"] >= min_stations)]
    return _numbers(rows, kept, spots)


def find_openings(
    spots: pd.DataFrame,
    *,
    listening: pd.DataFrame | None = None,
    gap_min: float | None = None,
    home: dict[str, float] | None = None,
) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Spots with their opening, and the openings of every scope.

    Parameters
    ----------
    spots : DataFrame
        Tagged spots.
    listening : DataFrame, optional
        `station band start end basis`. Without it nobody is known to have listened before or after,
        and every start and end is censored.
    gap_min : float, optional
        Longest silence at one place inside an opening [min]; by default each series' own bout criterion.
    home : dict, optional
        `lon lat` [degrees east, north]; without it there is no scope but the region.

    Returns
    -------
    spots : DataFrame
        The same rows with `opening` (Int64), the number of the region's opening, and `here` (Int64), that
        of the opening here, added.
    openings : DataFrame
        Columns of `COLUMNS`, by number. Of scope `region`: clusters in place and time. Of scope `here`:
        runs of the reports of the region's openings that a station at home could have used, parted by silence,
        since all of them are open to one place; of sporadic E those that others bear out
        (`witnessed.witnessed`); without those that home's own contacts speak against
        (`closed.contradicted`). Of `neighbours`: of those with an end near home. Grades: confirmed (3 reports, 2 stations or more), probable
        (2 and 2), single (less: one pair of stations again and again, or one contact). A report that
        was heard once stays isolated and makes no opening; a contact does, because two stations heard
        each other. `start` and `end` are the first and last report; `duration_min` is corrected for
        what sampling misses at both ends, NaN for a single report. A start or end is censored when
        nobody within reach of its place is known to have listened during the gap before or after it: the
        opening may be longer. `unusual` is that of `unusual.unusual`, NaN in scope `neighbours`. The other
        columns are those of `footprint.footprint`.

    Examples
    --------
    >>> from analysis import find_openings, open_tables
    >>> season = open_tables(None)  # the demo; the folder of your own review's tables in its place
    >>> spots = season.spots[(season.spots["season"] == 2025) & (season.spots["band"] == "2m")]
    >>> spots, openings = find_openings(spots, listening=season.listening, gap_min=60)
    >>> sorted(openings["grade"].unique())
    ['confirmed', 'probable', 'single']
    """
    rows = reports(spots)
    rows[["run", "gap_min"]] = runs_of(rows, gaps=[gap_min])[0]
    runs = _counts(rows)
    numbers = _numbers(rows, runs[(runs["n_spots"] >= 2) | runs["worked"]], spots)
    rows = rows.assign(opening=numbers.reindex(rows.index))
    region = _summary(rows[rows["opening"].notna()], scope=REGION)
    tables, here = [region], pd.Series(pd.NA, index=spots.index, dtype="Int64")
    if home is not None:
        carried = rows[rows["opening"].notna()]
        for scope in (HERE, NEIGHBOURS):
            seen = _seen(carried, spots, scope=scope, after=sum(map(len, tables)), **home)  # type: ignore[arg-type]
            tables.append(_summary(seen, scope=scope))
            if scope == HERE:
                here.loc[seen.index] = seen["opening"].astype("Int64")
    table = pd.concat(tables).reset_index()
    spots = spots.assign(opening=numbers, here=here)
    sides = censored(table, spots, listening)
    table = table.assign(start_censored=sides[0], end_censored=sides[1])
    table["unusual"] = unusual(spots, table)
    return spots, table.astype(COLUMNS)[list(COLUMNS)]


def openings_from(
    spots: pd.DataFrame,
    openings: pd.DataFrame,
    *,
    lon: float,
    lat: float,
    scope: str = HERE,
    toward: tuple[float, float] = (0.0, 360.0),
) -> pd.DataFrame:
    """Openings as a place other than home could have used them.

    Parameters
    ----------
    spots, openings : DataFrame
        As `find_openings` returns them.
    lon, lat : float
        The place [degrees east, north].
    scope : str
        `here` or `neighbours`, of the place.
    toward : (float, float)
        Only what lies between these bearings from the place [degrees clockwise from north].

    Returns
    -------
    DataFrame
        As the rows of `find_openings` for home, without what listening tells.
    """
    rows = reports(spots[spots["opening"].notna()])
    rows["opening"] = spots["opening"].reindex(rows.index)
    gap = openings[openings["scope"] == REGION].set_index("opening")["gap_min"]
    rows["gap_min"] = rows["opening"].map(gap)
    seen = _seen(rows, spots, scope=scope, after=0, toward=toward, lon=lon, lat=lat)
    return _summary(seen, scope=scope).reset_index()


def opening_sensitivity(spots: pd.DataFrame) -> pd.DataFrame:
    """How much the openings of the region depend on the gap and the rule.

    Returns
    -------
    DataFrame
        `scope band mechanism path_type gap_min min_spots min_stations n_openings open_hours median_min
        chosen`: one row per series, gap of 20 to 120 minutes (and the series' own) and rule; hours are
        corrected durations added up, `chosen` marks the own gap.
    """
    rows = reports(spots)
    found = [_by_rule(rows.join(runs)) for runs in runs_of(rows, gaps=[None, *GAPS_MIN])]
    own, fixed = found[0].assign(chosen=True), [table.assign(chosen=False) for table in found[1:]]
    key = [*SERIES, "gap_min", "min_spots", "min_stations"]
    # The own gap may be one of the fixed ones.
    table = pd.concat([own, *fixed], ignore_index=True).drop_duplicates(key)
    table.insert(0, "scope", REGION)
    return table.sort_values(key, ascending=[True] * 4 + [False] * 2, ignore_index=True)


def corrected_duration(span_min: pd.Series, n_spots: pd.Series) -> pd.Series:
    """Length of an opening of which `n_spots` random moments are known [min].

    The span between the first and the last of k points spread evenly at random over a length L is
    L (k − 1)/(k + 1) on average; the extension is held to 30 minutes. NaN for one report.
    """
    extension = (2 * span_min / (n_spots - 1).where(n_spots > 1)).clip(upper=LONGEST_EXTENSION_MIN)
    return span_min + extension


def _seen(
    rows: pd.DataFrame,
    spots: pd.DataFrame,
    *,
    scope: str,
    after: int,
    toward: tuple[float, float] = (0.0, 360.0),
    **home: float,
) -> pd.DataFrame:
    """Reports of the region's openings that belong to a scope, numbered by runs from `after` + 1."""
    parts = [rows.iloc[:0]]
    for (band, mechanism), own in rows.groupby(["band", "mechanism"]):
        how = str(mechanism) if scope == HERE else ""
        bearing = reach.headings_from(own, mechanism=how, **home)
        inside = (bearing - toward[0]) % 360 < toward[1] - toward[0]
        if how == "ES":
            inside &= witnessed(own, **home)
        own = own[inside]
        parts.append(own[~contradicted(own, spots, band=str(band), mechanism=str(mechanism), **home)])
    seen = pd.concat(parts).sort_values([*SERIES, "minute"], kind="stable")
    fresh = (seen[SERIES] != seen[SERIES].shift()).any(axis=1)
    seen["run"] = (fresh | (seen["minute"].diff() > seen["gap_min"])).cumsum().astype("int64")
    return seen.assign(opening=_numbers(seen, _counts(seen), spots).reindex(seen.index) + after)


def _counts(rows: pd.DataFrame) -> pd.DataFrame:
    """Per run: first minute, reports, paths, stations at the better manned end, any contact."""
    runs = rows.groupby("run")
    pairs = rows[["run", "tx_call", "rx_call"]].drop_duplicates()
    paths = pairs.groupby("run")
    ends = pairs.replace("", np.nan).groupby("run")[["tx_call", "rx_call"]].nunique().max(axis=1)
    return pd.DataFrame(
        {
            "first": runs["minute"].min(),
            "n_spots": runs.size(),
            "n_paths": paths.size(),
            "n_stations": ends,
            "worked": runs["worked"].any(),
            "lon": runs["mid_lon"].min(),
        }
    ).join(runs[SERIES].first())


def _numbers(rows: pd.DataFrame, kept: pd.DataFrame, spots: pd.DataFrame) -> pd.Series:
    """Opening numbers from 1 in order of time (then series and place), for every row of the spot table."""
    order = kept.sort_values(["first", *SERIES, "lon"], kind="stable").index
    number = pd.Series(np.arange(1, len(order) + 1), index=order)
    numbers = pd.Series(pd.NA, index=spots.index, dtype="Int64")
    labels = rows["run"].map(number).astype("Int64")
    numbers.loc[labels.index] = labels
    return numbers


def _summary(rows: pd.DataFrame, *, scope: str) -> pd.DataFrame:
    """One row per opening, index `opening`."""
    rows = rows.assign(run=rows["opening"].astype("int64"))
    runs = rows.groupby("run")
    table = _counts(rows)[["n_spots", "n_paths", "n_stations", *SERIES]].join(runs["gap_min"].first())
    table.index.name = "opening"
    first, last = runs["minute"].min(), runs["minute"].max()
    table["start"], table["end"] = intervals.times(first), intervals.times(last)
    table["duration_min"] = corrected_duration((last - first).astype(float), table["n_spots"])
    table["grade"] = _grade(table)
    table["max_km"] = runs["distance_km"].max()
    table["median_km"] = runs["distance_km"].median()
    table["mid_lat"] = runs["mid_lat"].median()
    table["mid_lon"] = median_lon(rows["mid_lon"], rows["run"])
    return table.join(footprint(rows)).assign(scope=scope)


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


def _by_rule(rows: pd.DataFrame) -> pd.DataFrame:
    """Openings, hours and median length per series under each rule."""
    runs = _counts(rows).join(rows.groupby("run")["gap_min"].first())
    minute = rows.groupby("run")["minute"]
    runs["length"] = corrected_duration(minute.max() - minute.min(), runs["n_spots"])
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
