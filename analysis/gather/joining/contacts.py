"""The same contact told more than once: by both partners' logs, by a later export, by a fuller one.

Two rows tell one contact when the same two stations worked on the same band, the modes agree as far
as they say anything, and the times are at most two minutes apart (within one log: the same
minute; between the logs of both partners five, if both name the same two squares). The fuller row stays; it takes over what only the other one knows. A rover keeps every
square it was worked from. Where two exports name different squares for one contact, the longer
locator wins, then the one the call shows more often; the other is named in the row's doubt.
"""

from __future__ import annotations

import numpy as np
import pandas as pd

from analysis.gather.spots import COLUMNS

NEAR = pd.Timedelta("2min")
BY_BOTH = pd.Timedelta("5min")  # clocks of two stations
VAGUE_MODES = ("", "DIGI")
SPOKEN_OR_KEYED = ("SSB", "CW", "FM", "AM")
ROVING = r"(?:/R|/M|/MM|/P)$"
FILLED = ("freq_mhz", "snr_db", "tx_power_dbm", "prop_mode", "tx_locator", "rx_locator", "mode")


def join_contacts(rows: pd.DataFrame, *, known: np.ndarray) -> tuple[pd.DataFrame, np.ndarray]:
    """Join the rows that tell the same contact.

    Parameters
    ----------
    rows : DataFrame
        Spot table, index 0..n-1.
    known : ndarray of bool
        Rows to look at: those that are no exact duplicates.

    Returns
    -------
    rows : DataFrame
        The same rows; those that stay have taken over what only their repetition knew.
    repeated : ndarray of bool
        Rows that another row tells already.
    """
    repeated = np.zeros(len(rows), dtype=bool)
    clusters = _clusters(rows[known])
    if clusters.empty:
        return rows, repeated
    usual = _usual_squares(rows)
    changed: dict[int, dict] = {}
    for _, members in clusters.groupby("cluster", sort=True):
        kept: list[dict] = []
        for told in members.sort_values(["rank", "source", "source_row"]).to_dict("records"):
            same = next((one for one in kept if _same_contact(one, told)), None)
            if same is None:
                kept.append(told)
            else:
                repeated[told["at"]] = True
                changed[same["at"]] = _take_over(same, told, usual=usual)
    return _with_changes(rows, changed), repeated


def _clusters(rows: pd.DataFrame) -> pd.DataFrame:
    """Contacts that share the two stations, the band and, in a chain, the time; only those with company."""
    worked = rows[(rows["kind"] == "worked").to_numpy()]
    worked = worked.assign(at=worked.index, band=worked["band"].astype("str"))
    own = worked["rx_call"].where(
        worked["rx_call"] != "", worked["source"].astype("str")
    )  # a log that names no station is its own
    ascending = worked["tx_call"] < own
    first, second = worked["tx_call"].where(ascending, own), own.where(ascending, worked["tx_call"])
    worked["pair"] = first + " " + second + " " + worked["band"]
    worked = worked[worked["pair"].duplicated(keep=False)]
    worked = worked.astype(dict.fromkeys(("mode", "kind", "prop_mode", "source"), "str"))
    worked = worked.sort_values(["pair", "time", "source", "source_row"])
    fresh = (worked["pair"] != worked["pair"].shift()) | (worked["time"].diff() > BY_BOTH)
    worked["cluster"] = fresh.cumsum()
    worked = worked[worked["cluster"].duplicated(keep=False)]
    known = worked[["freq_mhz", "snr_db", "tx_power_dbm"]].notna().sum(axis=1)
    known += worked["tx_locator"].str.len() + worked["rx_locator"].str.len() + worked["mode"].ne("DIGI")
    return worked.assign(rank=-known)


def _same_contact(one: dict, other: dict) -> bool:
    apart = abs(one["time"] - other["time"])
    if one["source"] == other["source"]:
        if one["rx_call"] != other["rx_call"] or one["time"].floor("min") != other["time"].floor("min"):
            return False
    elif apart > NEAR and not (apart <= BY_BOTH and _of_both_partners(one, other)):
        return False
    if not _modes_agree(one["mode"], other["mode"]):
        return False
    return _squares_agree(one, other) or (one["source"] != other["source"] and not _roving(one))


def _of_both_partners(one: dict, other: dict) -> bool:
    """Told by two stations that name the same squares."""
    named = all([*_squares_of(one).values(), *_squares_of(other).values()])
    return one["rx_call"] == other["tx_call"] != "" and named and _squares_agree(one, other)


def _modes_agree(one: str, other: str) -> bool:
    if one == other or "" in (one, other):
        return True
    return "DIGI" in (one, other) and not {one, other} & set(SPOKEN_OR_KEYED)


def _squares_of(row: dict) -> dict[str, str]:
    return {row["tx_call"]: row["tx_locator"], row["rx_call"]: row["rx_locator"]}


def _squares_agree(one: dict, other: dict) -> bool:
    first, second = _squares_of(one), _squares_of(other)
    return all(first[call].startswith(second[call]) or second[call].startswith(first[call]) for call in first)


def _roving(row: dict) -> bool:
    return any(pd.Series([row["tx_call"], row["rx_call"]]).str.contains(ROVING, regex=True))


def _take_over(kept: dict, told: dict, *, usual: dict[tuple[str, str], int]) -> dict:
    """What the kept row learns from its repetition; `kept` itself is brought up to date."""
    learned: dict = {}
    for name in ("freq_mhz", "prop_mode"):
        if _unknown(kept[name]) and not _unknown(told[name]):
            learned[name] = told[name]
    if kept["tx_call"] == told["tx_call"]:
        learned |= {
            name: told[name]
            for name in ("snr_db", "tx_power_dbm")
            if _unknown(kept[name]) and not _unknown(told[name])
        }
    if kept["mode"] in VAGUE_MODES:
        learned["mode"] = told["mode"]
    theirs, doubts = _squares_of(told), [kept["doubt"]]
    for side in ("tx", "rx"):
        call, mine, other = kept[f"{side}_call"], kept[f"{side}_locator"], theirs[kept[f"{side}_call"]]
        better = max(
            (mine, other), key=lambda square: (len(square), usual.get((call, square[:4]), 0), square)
        )
        learned[f"{side}_locator"] = better
        if mine and other and not (mine.startswith(other) or other.startswith(mine)):
            worse = other if better == mine else mine
            doubts.append(f"another record of this contact has locator {worse} for {call}")
    learned["doubt"] = "; ".join(dict.fromkeys(filter(None, doubts)))
    kept.update(learned)
    return {name: kept[name] for name in (*FILLED, "doubt")}


def _unknown(value) -> bool:
    return value == "" or bool(pd.isna(value))


def _usual_squares(rows: pd.DataFrame) -> dict[tuple[str, str], int]:
    counts = rows.groupby(["tx_call", rows["tx_locator"].str[:4]], observed=True).size()
    return {key: int(n) for key, n in zip(counts.index.to_list(), counts, strict=True)}


def _with_changes(rows: pd.DataFrame, changed: dict[int, dict]) -> pd.DataFrame:
    if not changed:
        return rows
    rows = rows.copy()
    news = pd.DataFrame.from_dict(changed, orient="index")
    for name in map(str, news.columns):
        column = rows[name]
        if isinstance(column.dtype, pd.CategoricalDtype):
            column = column.astype("str")
        column.loc[news.index] = news[name].to_numpy()
        rows[name] = column.astype(COLUMNS[name])
    return rows
