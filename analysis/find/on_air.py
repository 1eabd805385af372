"""Where somebody was proven on the air: half-hours and squares with a receiver on, and with a sender on."""

from __future__ import annotations

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy import sparse

from analysis.find import intervals
from analysis.find.cells import covered_half_hours, series_rows
from analysis.find.listening import outages, proves_listening, series_listening
from analysis.find.watched import Watch

HALF_HOUR = 30.0  # minutes
LEAST_MIN = 20.0  # of a half-hour listened to, for its square to count


def watch(
    spots: pd.DataFrame,
    listening: pd.DataFrame,
    *,
    band: str,
    mechanism: str,
    beacons: pd.DataFrame | None = None,
) -> Watch:
    """Who was proven on the air in every half-hour, by evidence outside the series.

    Parameters
    ----------
    spots : DataFrame
        Tagged spots.
    listening : DataFrame
        `station band start end basis`.
    band, mechanism : str
        The series, whatever lies under its paths (`watched.over` picks those of one path type).
    beacons : DataFrame, optional
        `call locator`: senders that always run.

    Notes
    -----
    A receiver counts where it listened for twenty minutes of the half-hour or more, in the square that it
    reports from most. A sender counts in the half-hour in which somebody reported it by another mechanism or
    from nearby: were it proven by reports of the opening itself, every morning without openings would be one
    without senders.
    """
    on_band = spots[(spots["band"] == band) & (spots["doubt"] == "")]
    known = series_listening(spots, listening, band=band, mechanism=mechanism)
    starts = covered_half_hours(on_band, known)
    first = intervals.minutes(pd.Series(starts[:1])).sum() / HALF_HOUR
    reported = _reported(series_rows(spots, band=band, mechanism=mechanism, path_type="all"), first)
    # What a log holds of other mechanisms proves as well as a reception that somebody sent.
    proof = on_band[proves_listening(on_band.assign(kind="heard"), mechanism=mechanism)]
    on = [_receivers(known, on_band, first), _ends(proof, first, "tx"), _beacons(on_band, beacons, first)]
    named = [*(table["square"] for table in on), reported["rx"], reported["tx"]]
    squares = np.array(sorted(set().union(*(names.unique() for names in named)) - {""}), dtype="str")
    receivers, senders, always = (_marks(table, squares, len(starts)) for table in on)
    silent = _silent(listening, first, len(starts))
    number = pd.Index(squares)
    return Watch(
        starts=starts,
        squares=squares,
        receivers=sparse.csr_array(receivers.multiply(~silent[:, None])),
        senders=senders.maximum(always),
        sightings=reported.assign(**{end: number.get_indexer(reported[end]) for end in ("rx", "tx")}),
    )


def _reported(rows: pd.DataFrame, first: float) -> pd.DataFrame:
    """`half_hour rx tx path_type` of the series' reports, squares by name, each path once a half-hour."""
    table = _ends(rows, first, "tx").rename(columns={"square": "tx"})
    table["rx"] = _square(rows["rx_locator"]).to_numpy()
    table["path_type"] = rows["path_type"].astype("str").to_numpy()
    table = table[(table["rx"] != "") & (table["tx"] != "")].drop_duplicates(ignore_index=True)
    return table[["half_hour", "rx", "tx", "path_type"]]


def _square(locators: pd.Series) -> pd.Series:
    return locators.astype("str").str[:4]


def _ends(rows: pd.DataFrame, first: float, end: str) -> pd.DataFrame:
    """`half_hour square` of one end of reports."""
    at = np.floor(intervals.minutes(rows["time"]) / HALF_HOUR - first).astype(int)
    return pd.DataFrame({"half_hour": at, "square": _square(rows[f"{end}_locator"]).to_numpy()})


def _receivers(known: pd.DataFrame, spots: pd.DataFrame, first: float) -> pd.DataFrame:
    """`half_hour square` with a receiver on for most of the half-hour."""
    home = _square(spots["rx_locator"]).groupby(spots["rx_call"].astype("str")).agg(_usual)
    spans = known.assign(station=known["station"].astype("str").map(home).fillna(""))
    spans = intervals.union(spans[spans["station"] != ""])
    start, end = (intervals.minutes(spans[side]) / HALF_HOUR - first for side in ("start", "end"))
    begin, past = np.floor(start).astype(int), np.ceil(end).astype(int)
    length = past - begin
    span = np.repeat(np.arange(len(spans)), length)
    at = begin[span] + np.arange(length.sum()) - np.repeat(np.cumsum(length) - length, length)
    share = np.minimum(end[span], at + 1) - np.maximum(start[span], at)
    table = pd.DataFrame({"half_hour": at, "square": spans["station"].to_numpy()[span], "share": share})
    table = table.groupby(["half_hour", "square"], as_index=False)["share"].sum()  # type: ignore[assignment]
    return table.loc[table["share"] >= LEAST_MIN / HALF_HOUR - 1e-9, ["half_hour", "square"]]


def _usual(values: pd.Series) -> str:
    """The commonest of them; of equals, the first in the alphabet."""
    return str(values.mode().iloc[0])


def _beacons(spots: pd.DataFrame, beacons: pd.DataFrame | None, first: float) -> pd.DataFrame:
    """`half_hour square` of listed beacons, all half-hours from the first day they were heard to the last.

    Not only those of days on which somebody heard them: a distant beacon is heard when the band is open.
    """
    if beacons is None or not len(beacons):
        return pd.DataFrame({"half_hour": np.empty(0, int), "square": np.empty(0, str)})
    place = _square(beacons["locator"]).groupby(beacons["call"].astype("str")).first()
    calls = spots["tx_call"].astype("str")
    listed = calls.isin(place.index)
    heard = spots.loc[listed, "time"].groupby(calls[listed]).agg(["min", "max"])
    begin = intervals.minutes(heard["min"].dt.floor("D")) / HALF_HOUR - first
    past = intervals.minutes(heard["max"].dt.floor("D")) / HALF_HOUR - first + 48
    return pd.DataFrame(
        {
            "half_hour": np.concatenate([np.arange(*span) for span in zip(begin, past, strict=True)] or [[]]),  # type: ignore[list-item]
            "square": pd.Categorical(place[heard.index]).repeat((past - begin).astype(int)),
        }
    ).astype({"half_hour": int})


def _marks(table: pd.DataFrame, squares: NDArray, n: int) -> sparse.csr_array:
    """One where a half-hour and a square are listed."""
    codes, names = pd.factorize(table["square"])
    column, row = pd.Index(squares).get_indexer(names)[codes], table["half_hour"].to_numpy()
    kept = (column >= 0) & (row >= 0) & (row < n)
    ones = np.ones(kept.sum(), dtype=np.float32)
    marks = sparse.csr_array((ones, (row[kept], column[kept])), shape=(n, len(squares)))
    marks.data[:] = 1  # those listed twice were added up
    return marks


def _silent(listening: pd.DataFrame, first: float, n: int) -> NDArray:
    """Half-hours whose middle lies in a silence of the whole feed."""
    spans = outages(listening)
    edges = (intervals.minutes(spans[side]) / HALF_HOUR - first for side in ("start", "end"))
    opens, past = (np.clip(np.ceil(edge - 0.5).astype(int), 0, n) for edge in edges)
    silent = np.zeros(n, dtype=bool)
    for begin, end in zip(opens, past, strict=True):
        silent[begin:end] = True
    return silent
