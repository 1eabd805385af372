"""Who was listening when: told from receptions that no opening is needed for.

A spot count mirrors operators; a chance needs hours in which somebody would have heard. A station is
known to listen around receptions that are not part of the opening to be judged: local stations and
beacons, ordinary scatter, meteors, aircraft, and (when a series is judged) signals by another mechanism. Single
contacts prove nothing: people switch on because the band is open. Contacts every few minutes prove that
their station was on (`operating`), and nothing for others.
"""

from __future__ import annotations

import numpy as np
import pandas as pd

from analysis.find import intervals
from analysis.find.once import once
from analysis.find.proof import monitors, operating, silences
from analysis.tag.ordinary import within

BACKGROUND = ("LOS", "MS", "AS")
SHORT_KM = 150.0  # within this an undetermined signal needs no opening
SHORTEST_KM = {
    "ES": 400.0,
    "F2": 400.0,
    "TEP": 400.0,
}  # what is nearer is not by this mechanism on 6 m and up
MONITOR_HOURS = 18.0  # a day
MONITOR_SHARE = 0.7  # of the days
MONITOR_DAYS = 60  # judgement: two months of running tell a receiver from a holiday
SILENCE_H = 6.0  # judgement: longer than a quiet night of a region with beacons
NORMAL_STATIONS = 3  # judgement: fewer are silent together by chance
BASES = ("monitor", "declared", "receptions")  # the stronger first; `operating` stands for itself alone
OPERATING = "operating"
MONITORS_ALONE_DAYS = 40  # days with the series by monitors, from which on they need nobody else
COLUMNS = [*intervals.COLUMNS, "basis"]


def find_listening(
    spots: pd.DataFrame, *, declared: pd.DataFrame | None = None, gap_min: float = 60, pad_min: float = 10
) -> pd.DataFrame:
    """When each station is known to have listened, whatever opening is judged later.

    Parameters
    ----------
    spots : DataFrame
        Tagged spots.
    declared : DataFrame, optional
        `station band start end`: hours that operators say they listened; an empty band means every
        band of the spots.
    gap_min : float
        A station listened through between two receptions no further apart than this [min]; longer where
        its own receptions say that it hears little while it is on (see `silences.allowed`).
    pad_min : float
        It also listened at least this long before and after [min].

    Returns
    -------
    DataFrame
        `station band start end basis`, half-open, not overlapping for one station and band; basis is
        monitor (a station on the air round the clock, see `monitors.runs`), declared, receptions or
        operating (a run of contacts, see `operating.operating`).

    Examples
    --------
    >>> from analysis import find_listening, open_tables
    >>> season = open_tables(None)  # the demo; the folder of your own review's tables in its place
    >>> spots = season.spots[season.spots["season"] == 2025]
    >>> sorted(find_listening(spots)["basis"].unique())
    ['monitor', 'operating', 'receptions']
    """
    points = _points(spots[proves_listening(spots)])
    always = monitors.runs(points)
    layers = {
        "receptions": _heard(points, always, gap_min=gap_min, pad_min=pad_min),
        "declared": _declared(declared, spots),
        "monitor": always,
        OPERATING: operating.operating(spots),
    }
    pieces = intervals.overlay(**layers)
    listened = pieces["receptions"] | pieces["declared"] | pieces[OPERATING]
    choices = [pieces["receptions"] & pieces["monitor"], pieces["declared"], pieces["receptions"]]
    pieces["basis"] = np.select(choices, BASES, OPERATING)
    return _joined(pieces.loc[listened, COLUMNS])


def proves_listening(spots: pd.DataFrame, *, mechanism: str = "") -> pd.Series:
    """Mask of receptions that prove a receiver was on without help from an opening.

    With a mechanism, signals by any *other* mechanism count too, and so does an undetermined signal
    from nearer than that mechanism can reach. Everything of the mechanism itself is left out, other
    path types as well: tropo over land and over sea come together. Tropo within the stations' ordinary
    range needs no opening.
    """
    known = spots["mechanism"]
    distance = spots["distance_km"].to_numpy(dtype=float)
    short = (known == "undetermined") & (distance < SHORTEST_KM.get(mechanism, SHORT_KM))
    proof = known.isin([name for name in BACKGROUND if name != mechanism]) | short
    if mechanism:
        proof |= ~known.isin([mechanism, "undetermined", ""])
    proof |= within(spots)
    own = (spots["kind"] == "heard") & (spots["rx_call"] != "") & (spots["doubt"] == "")
    return proof & own


@once
def series_listening(
    spots: pd.DataFrame,
    listening: pd.DataFrame,
    *,
    band: str,
    mechanism: str,
    gap_min: float = 60,
    pad_min: float = 10,
) -> pd.DataFrame:
    """Listening on one band as evidence for one mechanism.

    To what `find_listening` knows comes what signals by other mechanisms prove: a station that hears
    tropo would have heard sporadic E.

    Returns
    -------
    DataFrame
        `station band start end basis` of the band; on a monitor's days everything is basis monitor, and
        so are hours declared round the clock. Runs of contacts are not among them: they speak for their
        own station alone.
    """
    known = listening[listening["band"].astype("str") == band]
    on_band = spots[spots["band"] == band]
    others = on_band[proves_listening(on_band, mechanism=mechanism)]
    layers = {basis: known[known["basis"] == basis] for basis in BASES}
    days = _monitor_days(listening, band)
    heard = _heard(_points(others), days, gap_min=gap_min, pad_min=pad_min)
    pieces = intervals.overlay(**layers, heard=heard, days=days)
    always = pieces["monitor"] | (pieces["days"] & (pieces["heard"] | pieces["declared"]))
    pieces["basis"] = np.select([always, pieces["declared"]], ["monitor", "declared"], "receptions")
    told = always | pieces["declared"] | pieces["receptions"] | pieces["heard"]
    return _joined(pieces.loc[told, COLUMNS])


def whole_days(listening: pd.DataFrame) -> pd.DataFrame:
    """Stations whose rows add up to listening round the clock, and from when to when.

    A day belongs when it lies in some stretch of 60 days with at least 18 hours of listening on at least
    70 % of them. For hours that people declare; receptions are judged by `monitors.runs`.

    Parameters
    ----------
    listening : DataFrame
        `station band start end`.

    Returns
    -------
    DataFrame
        `station band start end`, whole UTC days.
    """
    if listening.empty:
        return intervals.empty()
    covered = intervals.per_day(listening)
    days = np.sort(covered["day"].unique())
    full = covered[covered["hours"] >= MONITOR_HOURS]
    found = []
    for (station, band), own in full.groupby(intervals.KEYS):
        good = np.isin(days, own["day"])
        for first, last in _monitor_runs(good):
            found.append((station, band, days[first] * 1440.0, (days[last] + 1) * 1440.0))
    if not found:
        return intervals.empty()
    table = pd.DataFrame(found, columns=intervals.COLUMNS)
    return table.assign(start=intervals.times(table["start"]), end=intervals.times(table["end"]))


@once
def outages(listening: pd.DataFrame) -> pd.DataFrame:
    """Spans in which the whole feed is silent although stations are usually there.

    Such a span is unmonitored, not closed: nothing can be said about it, whoever declares to have
    listened.

    Parameters
    ----------
    listening : DataFrame
        `station band start end basis`; declared hours and contacts are no sign of life of the feed.

    Returns
    -------
    DataFrame
        `start end hours usual`: silences of 6 hours or more; `usual` is the median number of stations
        in the same hours of the week over four weeks before and after, at least 3.
    """
    alive = listening[~listening["basis"].isin(["declared", OPERATING])]
    columns = ["start", "end", "hours", "usual"]
    if alive.empty:
        return intervals.empty()[["start", "end"]].assign(hours=0.0, usual=0.0)[columns]
    feed = intervals.union(alive.assign(station="", band=""))
    start, end = intervals.minutes(feed["end"])[:-1], intervals.minutes(feed["start"])[1:]
    long = np.flatnonzero(end - start >= SILENCE_H * 60)
    counts, first_hour = _stations_per_hour(alive)
    usual = [_usual(counts, start[i] / 60 - first_hour, end[i] / 60 - first_hour) for i in long]
    table = pd.DataFrame(
        {
            "start": intervals.times(start[long]),
            "end": intervals.times(end[long]),
            "hours": (end - start)[long] / 60,
            "usual": np.array(usual, dtype=float),
        }
    )
    return table[table["usual"] >= NORMAL_STATIONS].reset_index(drop=True)


def evidence_tier(listening: pd.DataFrame, *, band: str) -> str:
    """What a band's listening allows to say.

    A: monitors, or hours declared round the clock as an automatic receiver's owner can, so chances may
    be stated. B: listeners who were there by choice; shapes and ranks, and
    chances called indicative. C: contacts only, no chance at all, however busy the station was.
    """
    known = listening[(listening["band"].astype("str") == band) & (listening["basis"] != OPERATING)]
    if known.empty:
        return "C"
    return "B" if _monitor_days(listening, band).empty else "A"


def monitors_suffice(rows: pd.DataFrame, listening: pd.DataFrame, *, band: str) -> bool:
    """Whether the monitors of a band have seen enough of a series to need nobody else.

    Few or deaf receivers that are always on must not silence everybody else.

    Parameters
    ----------
    rows : DataFrame
        Tagged reports of the series.
    listening : DataFrame
        `station band start end basis`.
    band : str

    Returns
    -------
    bool
        True from 40 days with a report by a monitor on its days.
    """
    always = _monitor_days(listening, band)
    if always.empty or rows.empty:
        return False
    seen = _points(rows).rename(columns={"time": "start"})
    both = intervals.overlay(monitor=always, seen=seen.assign(end=seen["start"] + pd.Timedelta("1min")))
    days = both.loc[both["monitor"] & both["seen"], "start"].dt.floor("D")
    return days.nunique() >= MONITORS_ALONE_DAYS


def _points(spots: pd.DataFrame) -> pd.DataFrame:
    return pd.DataFrame({"station": spots["rx_call"], "band": spots["band"], "time": spots["time"]})


def _heard(points: pd.DataFrame, always: pd.DataFrame, *, gap_min: float, pad_min: float) -> pd.DataFrame:
    """Spans around receptions, as wide as each station's own silences allow; a monitor's silences at hours at
    which it hears little are listened through."""
    gap, pad = silences.allowed(points, gap_min=gap_min, pad_min=pad_min)
    gap = np.maximum(gap, monitors.silences_listened_through(points, always))
    return intervals.spans(points, gap_min=gap, pad_min=pad)


def _declared(declared: pd.DataFrame | None, spots: pd.DataFrame) -> pd.DataFrame:
    """Declared hours as spans; a blank band stands for all bands, empty and backward spans for none."""
    if declared is None or declared.empty:
        return intervals.empty()
    table = declared[intervals.COLUMNS].copy()
    table["station"] = table["station"].astype("str").str.strip().str.upper()
    table["band"] = table["band"].astype("str").where(table["band"].notna(), "")
    bands = [str(band) for band in spots["band"].dropna().unique()]
    every = [table[table["band"] == ""].assign(band=band) for band in bands]
    table = pd.concat([table[table["band"] != ""], *every], ignore_index=True)
    return table[(table["end"] > table["start"]).fillna(False)]


@once
def _monitor_days(listening: pd.DataFrame, band: str) -> pd.DataFrame:
    """Whole days of a band's monitors: rows that say so, and declared hours that add up to one."""
    told = listening[listening["basis"] == "monitor"]
    told = told.assign(start=told["start"].dt.floor("D"), end=told["end"].dt.ceil("D"))
    declared = whole_days(listening[listening["basis"] == "declared"])
    days = pd.concat([told[intervals.COLUMNS], declared], ignore_index=True)
    return days[days["band"].astype("str") == band]


def _joined(pieces: pd.DataFrame) -> pd.DataFrame:
    """Pieces that touch and have the same basis become one row."""
    pieces = pieces.reset_index(drop=True)
    before = pieces.shift()
    same = (pieces[[*intervals.KEYS, "basis"]] == before[[*intervals.KEYS, "basis"]]).all(axis=1)
    run = (~(same & (pieces["start"] == before["end"]))).cumsum()
    return (
        pieces.groupby(run)
        .agg({name: "last" if name == "end" else "first" for name in COLUMNS})
        .reset_index(drop=True)
    )


def _monitor_runs(good: np.ndarray) -> list[tuple[int, int]]:
    """First and last index of each run of days that lies in a window with enough good days."""
    if len(good) < MONITOR_DAYS:
        return []
    total = np.concatenate([[0], np.cumsum(good)])
    enough = total[MONITOR_DAYS:] - total[:-MONITOR_DAYS] >= MONITOR_SHARE * MONITOR_DAYS
    inside = np.convolve(enough, np.ones(MONITOR_DAYS)) > 0.5
    # A window reaches past the day a monitor was switched on; the run begins and ends on full days.
    edges = np.flatnonzero(np.diff(np.concatenate([[0], inside.astype(int), [0]])))
    runs = []
    for first, past in edges.reshape(-1, 2):
        full = np.flatnonzero(good[first:past]) + first
        runs.append((int(full[0]), int(full[-1])))
    return runs


def _stations_per_hour(listening: pd.DataFrame) -> tuple[np.ndarray, int]:
    """Distinct stations in every whole hour from the first one on, and that hour's number since 1970."""
    hours = listening.assign(
        band="", start=listening["start"].dt.floor("h"), end=listening["end"].dt.ceil("h")
    )
    whole = intervals.union(hours)
    first, last = (np.rint(intervals.minutes(whole[side]) / 60).astype(int) for side in ("start", "end"))
    step = np.zeros(last.max() - first.min() + 1)
    np.add.at(step, first - first.min(), 1)
    np.add.at(step, last - first.min(), -1)
    return np.cumsum(step), int(first.min())


def _usual(counts: np.ndarray, start_h: float, end_h: float) -> float:
    """Median number of stations in the same hours of the week, four weeks to either side."""
    hours = np.arange(int(np.ceil(start_h)), max(int(np.floor(end_h)), int(np.ceil(start_h)) + 1))[:168]
    weeks = np.arange(1, 5) * 168
    last = hours + 168 * int(np.floor((end_h - start_h) / 168))  # the same hour in the silence's last week
    around = np.concatenate([hours[:, None] - weeks, last[:, None] + weeks], axis=1)
    known = around[(around >= 0) & (around < len(counts))]
    return float(np.median(counts[known])) if len(known) else 0.0
