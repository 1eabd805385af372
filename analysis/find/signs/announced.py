"""What may announce an opening here: beacons, paths of always-on receivers, lower bands; and what followed each.

A report counts by its length alone, not by the mechanism it was called: the call leans on what else was
heard for two hours around, which would let a sign know its future.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analysis.find import intervals
from analysis.find.hearers import listeners, near_stations, station_squares
from analysis.find.reach import HERE, HOME_KM, LONGEST_HOP_KM, NEIGHBOURS, headings_from
from analysis.find.signs.kinds import BROADCAST, FT8, VOICE, WEAK_SIGNAL, is_beacon, kinds
from analysis.find.signs.quarters import (
    COLUMNS,
    QUARTER_MIN,
    Calendar,
    Target,
    calendar,
    covered,
    outcomes,
    target,
)

LADDER = (
    "10m",
    "8m",
    "6m",
    "4m",
    "FM",
    "2m",
)  # the lower ones are watched for the upper ones (common practice)
ES_KM = (500.0, LONGEST_HOP_KM)  # one hop, and beyond what ground and ordinary air carry (judgement)
TR_MOST_KM = 1200.0  # longer ones over land are rather sporadic E or meteors (judgement)
PAIRS = 2  # different pairs of squares in a quarter that make a band noticed as open; one ping makes one
LEAST_DAYS = 5  # on which a sign was heard, to look at it at all (judgement)
OPENING, FIRST_VOICE = "opening", "voice or CW"
BEACON, PATH, BAND = "beacon", "monitor path", "lower band"
ABOUT = [
    "target_band",
    "mechanism",
    "target",
    "sign",
    "band",
    "call",
    "listener",
    "locator",
    "freq_mhz",
    "heading_deg",
]


@dataclass(frozen=True)
class Sign:
    """One thing to listen to: what it is (of `ABOUT`), minutes of its reports, and who could report it."""

    about: dict
    reports: NDArray
    receivers: pd.Index


def announced(
    spots: pd.DataFrame,
    openings: pd.DataFrame,
    listening: pd.DataFrame,
    *,
    beacons: pd.DataFrame | None = None,
    lon: float,
    lat: float,
) -> pd.DataFrame:
    """What followed each warning by each sign, and which onsets had one.

    Parameters
    ----------
    spots : DataFrame
        Tagged spots with `here`, the number of the opening here.
    openings : DataFrame
        `scope opening band mechanism path_type start end grade`; those here, single ones apart.
    listening : DataFrame
        `station band start end basis`.
    beacons : DataFrame, optional
        `call locator freq_mhz`.
    lon, lat : float
        Home [degrees east, north].

    Returns
    -------
    DataFrame
        `ABOUT` and the columns of `quarters.outcomes`, one row per warning and per onset. A beacon is one
        that stations within 100 km of home heard; a monitor path one between a beacon and an always-on
        receiver elsewhere that a bend shared with home could serve; a lower band is noticed where two
        different paths that home could have used were heard in a quarter of an hour.
    """
    if spots.empty or "here" not in spots:
        return pd.DataFrame(columns=[*COLUMNS, *ABOUT])
    home = {"lon": lon, "lat": lat}
    when = calendar(spots["time"].min(), spots["time"].max(), **home)
    known = spots[(spots["doubt"] == "") & (spots["rx_call"] != "") & spots["distance_km"].notna()]
    signs = {
        mechanism: list(_signs(known, listening, beacons, mechanism=mechanism, **home))
        for mechanism in ("ES", "TR")
    }
    on: dict = {}
    told: list[dict] = []
    parts: list[pd.DataFrame] = []
    for about, aim in _targets(spots, openings, listening, when, **home):
        for sign in signs[about["mechanism"]]:
            if not _may_announce(sign.about, about):
                continue
            key = (sign.about["band"], tuple(sign.receivers))
            if key not in on:
                rows = listening[(listening["band"] == key[0]) & listening["station"].isin(sign.receivers)]
                on[key] = covered(rows, when)
            parts.append(outcomes(sign.reports, on[key], aim, when))
            told.append(about | sign.about)
    if not told:
        return pd.DataFrame(columns=[*COLUMNS, *ABOUT])
    which = np.repeat(np.arange(len(told)), [len(part) for part in parts])
    about_each = pd.DataFrame(told, columns=ABOUT).iloc[which].reset_index(drop=True)
    return pd.concat([pd.concat(parts, ignore_index=True), about_each], axis=1)


def _may_announce(sign: dict, about: dict) -> bool:
    """Lower bands announce an opening, beacons and FT8 of the band itself the first voice in it."""
    if sign["band"] == about["target_band"]:
        return about["target"] == FIRST_VOICE and sign["sign"] != BAND
    if about["target"] != OPENING or sign["sign"] == FT8:
        return False
    return LADDER.index(sign["band"]) < LADDER.index(about["target_band"])


def _targets(
    spots: pd.DataFrame,
    openings: pd.DataFrame,
    listening: pd.DataFrame,
    when: Calendar,
    *,
    lon: float,
    lat: float,
) -> Iterator[tuple[dict, Target]]:
    """Openings here and the first voice in them, per band of the ladder and mechanism."""
    rows = openings[(openings["scope"] == HERE) & (openings["grade"] != "single")].sort_values("start")
    spoken = spots[spots["here"].notna() & (kinds(spots) == VOICE)]
    minute = pd.Series(intervals.minutes(spoken["time"]), index=spoken["here"].astype("int64"))
    voice = minute.groupby(level=0).min()
    for (band, mechanism), own in rows.groupby(["band", "mechanism"]):
        if band not in LADDER or band == BROADCAST or mechanism not in ("ES", "TR"):
            continue
        watched = covered(
            listeners(spots, listening, band=band, mechanism=mechanism, lon=lon, lat=lat)[HERE], when
        )
        starts, ends = (intervals.minutes(own[side]) for side in ("start", "end"))
        first = own["opening"].astype("int64").map(voice).to_numpy(float)
        for what, onsets in ((OPENING, starts), (FIRST_VOICE, first)):
            known = np.flatnonzero(np.isfinite(onsets))
            known = known[np.argsort(onsets[known], kind="stable")]
            if len(known):
                about = {"target_band": band, "mechanism": mechanism, "target": what}
                yield about, target(onsets[known], ends[known], watched=watched, when=when)


def _signs(
    spots: pd.DataFrame, listening: pd.DataFrame, beacons, *, mechanism: str, lon: float, lat: float
) -> Iterator[Sign]:
    """Everything that could have been watched for an opening by a mechanism."""
    km, band = spots["distance_km"], spots["band"].astype("str")
    far = km.between(*ES_KM) if mechanism == "ES" else (km > spots["ordinary_km"]) & (km < TR_MOST_KM)
    rows = spots[far & band.isin(LADDER)]
    squares = station_squares(spots)
    near = near_stations(squares, scope=NEIGHBOURS, mechanism=mechanism, lon=lon, lat=lat)
    within = near_stations(squares, scope=HERE, mechanism=mechanism, lon=lon, lat=lat)
    heading = headings_from(rows, mechanism=mechanism, lon=lon, lat=lat, radius_km=HOME_KM)
    rows = rows.assign(heading=heading)[np.isfinite(heading)]
    sent = is_beacon(rows, beacons=beacons)
    at_home = rows["rx_call"].isin(near).to_numpy()
    yield from _stations(rows[sent & at_home], BEACON)
    always = listening.loc[listening["basis"] == "monitor", "station"].unique()
    elsewhere = rows[sent & ~at_home & rows["rx_call"].isin(always).to_numpy()]
    if mechanism == "ES":
        yield from _stations(elsewhere, PATH)
    for name, own in rows.groupby(rows["band"].astype("str")):
        about = {
            "band": name,
            "call": "",
            "listener": "",
            "locator": "",
            "freq_mhz": np.nan,
            "heading_deg": np.nan,
        }
        noticed = _noticed(own, pairs=1 if name == BROADCAST else PAIRS)
        if _days(noticed) >= LEAST_DAYS:
            yield Sign(about | {"sign": BAND}, noticed, within)
        digital = _noticed(own[np.isin(kinds(own), (FT8, WEAK_SIGNAL))], pairs=PAIRS)
        if _days(digital) >= LEAST_DAYS and name != BROADCAST:
            yield Sign(about | {"sign": FT8}, digital, within)


def _stations(rows: pd.DataFrame, sign: str) -> Iterator[Sign]:
    """Each transmitter as a sign; of a monitor path, each with its receiver."""
    keys = ["band", "tx_call"] + (["rx_call"] if sign == PATH else [])
    for key, own in rows.groupby([rows[name].astype("str") for name in keys]):
        reports = np.sort(intervals.minutes(own["time"]))
        if _days(reports) < LEAST_DAYS:
            continue
        freq = own["freq_mhz"].median()
        about = {"sign": sign, "band": key[0], "call": key[1], "listener": key[2] if sign == PATH else ""}
        place = {
            "locator": own["tx_locator"].mode().iloc[0],
            "freq_mhz": freq,
            "heading_deg": _mean_heading(own["heading"]),
        }
        yield Sign(about | place, reports, pd.Index(own["rx_call"].unique()))


def _noticed(rows: pd.DataFrame, *, pairs: int) -> NDArray:
    """Minutes at which the last of so many different pairs of squares was heard in a quarter, in order."""
    minute = intervals.minutes(rows["time"])
    seen = pd.DataFrame(
        {
            "quarter": np.floor(minute / QUARTER_MIN),
            "minute": minute,
            "pair": rows["tx_locator"].str[:4].to_numpy() + rows["rx_locator"].str[:4].to_numpy(),
        }
    ).sort_values("minute")
    seen = seen.drop_duplicates(["quarter", "pair"])
    nth = seen[seen.groupby("quarter").cumcount() == pairs - 1]
    return nth["minute"].to_numpy()


def _days(minutes: NDArray) -> int:
    return len(np.unique(np.floor(minutes / 1440)))


def _mean_heading(degrees: pd.Series) -> float:
    """Mean direction, so that 350 and 10 give north."""
    angle = np.radians(degrees)
    return float(np.degrees(np.arctan2(np.sin(angle).mean(), np.cos(angle).mean())) % 360)
