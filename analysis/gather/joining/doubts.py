"""Evidence that a report may be wrong: busted calls, false decodes and wrong locators are marked, never removed.

A call is suspect only if it was heard once in all the data and sent no log, or if its partner's log
has the contact under another call. Portable and roving calls change their square by right; a square is
doubted where nobody could have been in it between two contacts from another.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pandas as pd

from analysis.gather import locators, problems
from analysis.gather.joining import both_logs, several_squares
from analysis.physics.earth import apart_km, directions
from analysis.physics.sporadic_e import SOFT_EDGE_KM

ROVING = r"/(?:R|M|MM|P|AM|[0-9])$"
OFTEN = 5  # reports that make a call or a square a usual one
USUAL_SHARE = 0.8  # of a call's reports, to call a square its usual one
FAR_KM = 300.0  # a move that is no slip of the operator's own square
BESIDE_KM = 500.0  # another transmitter this near, or
ALIKE_KM = 1500.0  # this near and about as far from its receiver, bears a suspect one out
NEAR_TIME = pd.Timedelta("30min")
MONTH = pd.Timedelta("30D")
MANY = 100  # reports on the band in two months, before silence from a field means something
LONELY_KM = 1000.0  # judgement: nearer, one report alone is nothing odd
NEXT = 32  # reports either side that are looked at first, and
PAIRS = 1_000_000  # looked at together (judgement; only time and memory rest on them)
LONE_LIMIT_KM = SOFT_EDGE_KM[0]  # the longest single hop of sporadic E


def doubts(rows: pd.DataFrame, *, logs: set[str] | None = None) -> pd.Series:
    """Why each row may be wrong.

    Parameters
    ----------
    rows : DataFrame
        The whole spot table, index 0..n-1.
    logs : set of str, optional
        Calls that sent a log (`both_logs.owners`), also those whose contacts are all told by others; by
        default those of the rows.

    Returns
    -------
    Series of str
        A sentence, or several joined by semicolons; empty text where nothing speaks against the row.
    """
    code, calls = pd.factorize(rows["tx_call"])
    logs = both_logs.owners(rows) if logs is None else logs
    reports = pd.Series(np.bincount(code, minlength=len(calls)), index=pd.Index(calls, dtype="str"))
    parts = [
        rows["doubt"].astype("str"),
        _moved(rows, code, reports),
        both_logs.misread(rows, alike=_near_misses),
        several_squares.odd_squares(rows, apart_km=_apart_km),
        _one_letter_off(rows, code, reports, logs=logs),
        _same_square(rows, code, reports, logs=logs),
        _lonely_and_far(rows, (reports.to_numpy()[code] == 1) & ~rows["tx_call"].isin(logs).to_numpy()),
    ]
    return problems.joined(parts, index=rows.index)


def _moved(rows: pd.DataFrame, code: np.ndarray, reports: pd.Series) -> pd.Series:
    """A square far from the one that nearly all other reports of the call name."""
    place, named = pd.factorize(rows["tx_locator"])
    square, squares = pd.factorize(pd.Series(named, dtype="str").str[:4])
    pair, pairs = pd.factorize(code.astype("int64") * (len(squares) + 1) + square[place])
    counts = pd.DataFrame({"pair": np.arange(len(pairs)), "n": np.bincount(pair, minlength=len(pairs))})
    heard = pairs // (len(squares) + 1)
    often = reports.to_numpy()[heard] >= OFTEN  # no other call has a usual square
    counts, pairs, heard = counts[often], pairs[often], heard[often]
    counts["call"] = reports.index[heard]
    counts["square"] = pd.Index(squares)[pairs % (len(squares) + 1)] if len(pairs) else ""
    counts = counts[counts["square"] != ""].astype({"call": "str", "square": "str"})
    counts["total"] = counts.groupby("call")["n"].transform("sum")
    usual = counts[(counts["n"] >= USUAL_SHARE * counts["total"]) & (counts["n"] >= OFTEN)].set_index("call")
    usual = usual.rename(columns={"square": "home", "n": "n_home"})[["home", "n_home"]]
    odd = counts.join(usual, on="call", how="inner")
    odd = odd[(odd["square"] != odd["home"]) & ~odd["call"].str.contains(ROVING, regex=True)]
    odd = odd[_apart_km(odd["square"], odd["home"]) > FAR_KM]
    told = "locator " + odd["square"] + " for " + odd["call"] + ", which has " + odd["home"]
    told = (told + " in " + odd["n_home"].astype("str") + " other reports").set_axis(odd["pair"])
    at = np.flatnonzero(np.isin(pair, odd["pair"]))
    return told.reindex(pair[at]).set_axis(rows.index[at])


def _one_letter_off(rows: pd.DataFrame, code: np.ndarray, reports: pd.Series, *, logs: set[str]) -> pd.Series:
    """Heard once, one character from a call that is often heard, on the band within half an hour of it."""
    often = list(reports.index[reports >= OFTEN])
    once = reports.index[reports == 1] if often else reports.index[:0]
    pairs = _near_misses(list(once[~once.isin(logs)]), often)
    if pairs.empty:
        return pd.Series(dtype="str")
    concerned = reports.index.isin(pairs["once"]) | reports.index.isin(pairs["often"])
    part = rows.loc[concerned[code], ["tx_call", "time", "band"]]
    found = part.reset_index().merge(pairs, left_on="tx_call", right_on="once")
    found = found.merge(
        part, left_on=["often", "band"], right_on=["tx_call", "band"], suffixes=("", "_often")
    )
    found = found[(found["time"] - found["time_often"]).abs() <= NEAR_TIME].drop_duplicates("index")
    told = "heard once, one character from " + found["often"] + ", which was on the band at that time"
    return told.set_axis(found["index"])


def _same_square(rows: pd.DataFrame, code: np.ndarray, reports: pd.Series, *, logs: set[str]) -> pd.Series:
    """Worked once, one character from a call of the same square that the log does not have on the band.

    Had both been worked by one station on one band, both were there.
    """
    worked = (rows["kind"] == "worked").to_numpy() & (rows["tx_locator"] != "").to_numpy()
    if not worked.any():
        return pd.Series(dtype="str")
    told = rows.loc[worked, ["tx_call", "rx_call", "band", "tx_locator"]].astype({"band": "str"})
    told["square"] = told["tx_locator"].str[:4]
    calls = reports.loc[told["tx_call"].unique()]
    once = calls.index[calls == 1]
    pairs = _near_misses(list(once[~once.isin(logs)]), list(calls.index[calls > 1]))
    places = told[["tx_call", "square"]].drop_duplicates()
    found = told.reset_index().merge(pairs, left_on="tx_call", right_on="once")
    found = found.merge(places.rename(columns={"tx_call": "often"}), on=["often", "square"])
    in_log = pd.MultiIndex.from_frame(told[["rx_call", "band", "tx_call"]])
    found = found[~pd.MultiIndex.from_frame(found[["rx_call", "band", "often"]]).isin(in_log)]
    found = found.drop_duplicates("index")
    said = "worked once, one character from " + found["often"] + ", which is in " + found["square"] + " too"
    return said.set_axis(found["index"]).astype("str")


def _near_misses(once: Sequence[str], often: Sequence[str]) -> pd.DataFrame:
    """Pairs of calls that differ in one character, or in one that is left out."""
    one, other = (pd.DataFrame({"call": list(calls)}, dtype="str") for calls in (once, often))
    one = one[_maybe_alike(one["call"], other["call"])]
    found = [
        _alike(_gaps(one["call"], "_"), _gaps(other["call"], "_")),
        _alike(one.assign(gap=one["call"]), _gaps(other["call"], "")),
        _alike(_gaps(one["call"], ""), other.assign(gap=other["call"])),
    ]
    pairs = pd.concat(found, ignore_index=True).drop_duplicates()
    return pairs.sort_values(["once", "often"], ignore_index=True)


def _maybe_alike(one: pd.Series, other: pd.Series) -> pd.Series:
    """Calls that begin or end as one of the others does: one slip cannot change both, but in short calls."""
    begin, end = (
        part.isin(list(theirs.unique())) for part, theirs in zip(_edges(one), _edges(other), strict=True)
    )
    return begin | end | (one.str.len() < 5)


def _edges(calls: pd.Series) -> tuple[pd.Series, pd.Series]:
    return calls.str[:2], calls.str[-2:]


def _alike(one: pd.DataFrame, other: pd.DataFrame) -> pd.DataFrame:
    both = one.merge(other, on="gap", suffixes=("", "_other"))
    return pd.DataFrame({"once": both["call"], "often": both["call_other"]}, dtype="str")


def _gaps(calls: pd.Series, sign: str) -> pd.DataFrame:
    """`call gap`: each call with each of its characters in turn replaced."""
    length = calls.str.len()
    parts = [
        pd.DataFrame({"call": own, "gap": own.str.slice_replace(i, i + 1, sign)})
        for i in range(int(length.max()) if len(calls) else 0)
        for own in [calls[length > i]]
    ]
    return pd.concat(parts, ignore_index=True) if parts else pd.DataFrame({"call": calls, "gap": calls})


def _lonely_and_far(rows: pd.DataFrame, once: np.ndarray) -> pd.Series:
    """Heard (not worked) once, and no other report of that hour or that season bears out its place."""
    said: dict[int, str] = {}
    once = once & (rows["kind"] == "heard").to_numpy()
    if not once.any():
        return pd.Series(dtype="str")
    tx, rx = _places(rows["tx_locator"]), _places(rows["rx_locator"])
    km = apart_km(tx, rx)
    suspects = np.flatnonzero(once & (km > LONELY_KM))
    field, fields = pd.factorize(rows["tx_locator"].str[:2])
    band = rows["band"].cat.codes.to_numpy().astype("int64")
    when = rows["time"].to_numpy(dtype="datetime64[us]").view("int64")
    company = [_company(group, when, suspects) for group in (band, band * len(fields) + field)]
    for row in suspects[(company[0] > MANY) & (company[1] == 1)]:
        said[row] = f"heard once, and nobody else from {fields[field[row]]} within a month of it"
    far = suspects[km[suspects] > LONE_LIMIT_KM]
    for row in far[~_borne_out(far, band, when, tx=tx, km=km)]:
        said[row] = f"heard once, {km[row]:.0f} km away, and no other report of that hour bears it out"
    return pd.Series(list(said.values()), index=rows.index[list(said)], dtype="str")


def _company(group: np.ndarray, when: np.ndarray, suspects: np.ndarray) -> np.ndarray:
    """How many rows of each suspect's group lie within a month of it, itself included."""
    _, first, past = _around(group, when, suspects, MONTH)
    return past - first


def _borne_out(
    suspects: np.ndarray, band: np.ndarray, when: np.ndarray, *, tx: np.ndarray, km: np.ndarray
) -> np.ndarray:
    """Whether another report on the band, within half an hour, is of a place that bears a suspect out.

    Most are borne out by one of the reports next to them, so these are looked at first.
    """
    order, first, past = _around(band, when, suspects, NEAR_TIME)
    place = np.empty(len(order), dtype="int64")
    place[order] = np.arange(len(order))
    borne = np.zeros(len(suspects), dtype=bool)
    for reach in (NEXT, len(order)):
        left = np.flatnonzero(~borne)
        at = place[suspects[left]]
        begin, end = np.maximum(first[left], at - reach), np.minimum(past[left], at + reach + 1)
        pieces = np.cumsum(end - begin) // PAIRS
        for own in np.split(np.arange(len(left)), np.flatnonzero(np.diff(pieces)) + 1):
            n = end[own] - begin[own]
            which = np.repeat(np.arange(len(own)), n)
            other = order[np.repeat(begin[own] - np.cumsum(n) + n, n) + np.arange(n.sum())]
            mine = suspects[left[own]][which]
            away = apart_km(tx[other], tx[mine])
            near = (away < BESIDE_KM) | ((away < ALIKE_KM) & (km[other] > km[mine] / 2))
            borne[left[own]] = np.bincount(which[near & (other != mine)], minlength=len(own)) > 0
    return borne


def _around(
    group: np.ndarray, when: np.ndarray, suspects: np.ndarray, span: pd.Timedelta
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Rows in order of group and time, and where in that order the rows near each suspect begin and end."""
    order = np.lexsort((when, group)) if len(suspects) else np.arange(len(when))
    first, past = np.zeros((2, len(suspects)), dtype="int64")
    groups, own, reach = group[order], group[suspects], span // pd.Timedelta("1us")
    for one in np.unique(own):
        mine = own == one
        low, high = np.searchsorted(groups, [one, one + 1])
        times, at = when[order[low:high]], when[suspects[mine]]
        first[mine] = low + times.searchsorted(at - reach, side="left")
        past[mine] = low + times.searchsorted(at + reach, side="right")
    return order, first, past


def _apart_km(first: pd.Series, second: pd.Series) -> np.ndarray:
    """Distance between the centres of locators [km], NaN where one is unknown."""
    return apart_km(_places(first), _places(second))


def _places(squares: pd.Series) -> np.ndarray:
    """Points on the unit sphere, one row of x, y, z per locator, NaN where it is unknown."""
    code, known = pd.factorize(squares)
    centres = locators.centre(pd.Series(known, dtype="str"))
    return directions(lon=centres["lon"], lat=centres["lat"])[code]
