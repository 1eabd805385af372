"""The ladder of an opening: beacons and weak signals, FT8, strong FT8, and how long until voice.

A rung can only be seen to lead to voice while somebody is on voice. So the time from a rung to voice is
cut into spells in which a voice operator within reach was known to be on, each of which ends with voice,
with the end of the opening, or because nobody is known to have stayed.
"""

from __future__ import annotations

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analysis.find import intervals
from analysis.find.grouping.censoring import NEARBY_KM, WITHIN_KM, station_squares
from analysis.find.signs.first import ABOUT, SCOPES, opening_reports
from analysis.find.signs.kinds import BEACON, FT8, VOICE, WEAK_SIGNAL, kinds
from analysis.gather import locators
from analysis.physics import earth

FAIR_DB, STRONG_DB = -10.0, 0.0  # reports at which voice is tried (common practice, no source)
RUNGS = {
    "beacon": (BEACON, -np.inf),
    "weak signal": (WEAK_SIGNAL, -np.inf),
    "FT8": (FT8, -np.inf),
    f"FT8 at {FAIR_DB:g} dB or more": (FT8, FAIR_DB),
    f"FT8 at {STRONG_DB:g} dB or more": (FT8, STRONG_DB),
}
STAYS_MIN = {VOICE: 30.0, "watch": 60.0}  # how long a reception tells that the receiver is on (judgement)
TELLING_MIN = 10.0  # voice so soon after somebody came on was possible before
LED, OVER, CUT = "voice", "over", "cut"
COLUMNS = [*ABOUT, "rung", "rung_min", "start_heard", "entry_min", "exit_min", "ended"]


def ladder(
    spots: pd.DataFrame, openings: pd.DataFrame, *, beacons: pd.DataFrame | None = None
) -> pd.DataFrame:
    """From each rung of each confirmed opening to voice: the spells in which voice would have been heard.

    Parameters
    ----------
    spots : DataFrame
        Tagged spots with their `opening` and, where home is known, `here`.
    openings : DataFrame
        Of every scope, as `find_openings` returns them.
    beacons : DataFrame, optional
        `call …`; calls that end in /B are beacons anyway.

    Returns
    -------
    DataFrame
        `scope opening band mechanism path_type start season rung rung_min start_heard entry_min exit_min
        ended`: one row per spell, or one with `ended` empty where no voice operator was known to be on
        after the rung. `rung_min` counts from the opening's start, the others from the rung. A receiver
        within reach of the opening's middle is taken to be on for `STAYS_MIN` after each reception, never
        before one, so that voice itself proves nobody's presence. `ended` is voice, over (the opening was
        over and voice had not come) or cut (nobody known to stay). A spell that begins after the rung and
        in which voice comes within `TELLING_MIN` is left out: voice was possible before.
        `start_heard` is False where nobody was known to watch before the rung: it may be older.
    """
    heard = receptions(spots, beacons)
    parts = [
        _of_scope(spots, openings, heard, scope=scope, beacons=beacons)
        for scope in SCOPES
        if SCOPES[scope] in spots
    ]
    return pd.concat(parts, ignore_index=True)[COLUMNS]


def spells(*, rung: float, end: float, voice: float, on: NDArray) -> list[tuple[float, float, str]]:
    """Spells at risk after a rung: minutes of entry and exit after it, and how each ended.

    Parameters
    ----------
    rung, end, voice : float
        Minutes at which the rung was first reported, the opening ended and voice was first reported
        (NaN if never; then the band did not get so far, or nobody was on).
    on : ndarray (n, 2)
        Sorted, disjoint spans in which a voice operator was known to be on.
    """
    found = []
    last = end if np.isnan(voice) else voice
    for opens, closes in on:
        entry = max(opens, rung)
        if entry >= last or closes <= entry:
            continue
        if last > closes:
            found.append((entry - rung, closes - rung, CUT))
        elif np.isnan(voice):
            found.append((entry - rung, end - rung, OVER))
        elif opens <= rung or voice - entry > TELLING_MIN:
            found.append((entry - rung, voice - rung, LED))
    return found


def receptions(spots: pd.DataFrame, beacons: pd.DataFrame | None) -> pd.DataFrame:
    """Every reception with its `band kind square minute`; voice is one kind, all else that is watched another."""
    rows = spots[(spots["rx_call"] != "") & (spots["doubt"] == "")]
    square = station_squares(spots).reindex(rows["rx_call"].astype("str")).astype("str").fillna("")
    table = pd.DataFrame(
        {
            "band": rows["band"].astype("str").to_numpy(),
            "kind": np.where(kinds(rows, beacons=beacons) == VOICE, VOICE, "watch"),
            "square": square.to_numpy(),
            "minute": intervals.minutes(rows["time"]),
        }
    )
    return table.sort_values("minute")


def _of_scope(spots, openings, heard: pd.DataFrame, *, scope: str, beacons) -> pd.DataFrame:
    reports = opening_reports(spots, openings, scope=scope, beacons=beacons)
    first = _firsts(reports)
    about = openings[openings["opening"].isin(first.index)].astype({"opening": "int64"})
    about = about.assign(season=about["opening"].map(reports.groupby("opening")["season"].first()))
    found = []
    for band, of_band in about.groupby("band"):
        on = heard[heard["band"] == band]
        for row, by_kind in zip(of_band.itertuples(), within_reach(of_band, on), strict=True):
            found += _climbs(row, first.loc[row.opening], by_kind)
    columns = ["opening", *(name for name in COLUMNS if name not in ABOUT)]
    return pd.DataFrame(found, columns=columns).merge(about[ABOUT], on="opening")


def _firsts(reports: pd.DataFrame) -> pd.DataFrame:
    """First minute of each rung and of voice, a row per opening; NaN where not reached."""
    reached = {
        name: reports[(reports["sign"] == kind) & ~(reports["snr_db"] < least)]
        if np.isinf(least)
        else reports[(reports["sign"] == kind) & (reports["snr_db"] >= least)]
        for name, (kind, least) in (RUNGS | {VOICE: (VOICE, -np.inf)}).items()
    }
    table = {name: rows.groupby("opening")["minute"].min() for name, rows in reached.items()}
    return pd.DataFrame(table, index=np.unique(reports["opening"])).astype(float)


def within_reach(openings: pd.DataFrame, on: pd.DataFrame):
    """For each opening, minutes of receptions of each kind within its reach, around its time."""
    squares = pd.Series(on["square"].unique(), dtype="str")
    places = locators.centre(squares)
    points = earth.directions(lon=places["lon"], lat=places["lat"])
    code = pd.Index(squares).get_indexer(on["square"])
    minute, voice = on["minute"].to_numpy(), (on["kind"] == VOICE).to_numpy()
    start, end = intervals.minutes(openings["start"]), intervals.minutes(openings["end"])
    first = np.searchsorted(minute, start - STAYS_MIN["watch"])
    past = np.searchsorted(minute, end, side="right")
    middle = earth.directions(lon=openings["mid_lon"], lat=openings["mid_lat"])
    far = openings["mechanism"].astype("str").map(WITHIN_KM).fillna(NEARBY_KM).to_numpy(float)
    far = far + openings["extent_km"].fillna(0).to_numpy(float) / 2
    for i, window in enumerate(map(slice, first, past)):
        near = ~(earth.apart_km(middle[i], points) > far[i])[code[window]]
        yield {
            VOICE: minute[window][near & voice[window]],
            "watch": minute[window][near & ~voice[window]],
        }


def _climbs(opening, first: pd.Series, receptions: dict[str, NDArray]) -> list[tuple]:
    """Rows of one opening, ABOUT apart from its number left out."""
    start, end = (moment.timestamp() / 60 for moment in (opening.start, opening.end))
    on = _stretches(receptions[VOICE])
    found = []
    for name in RUNGS:
        rung, voice = first[name], first[VOICE]
        if np.isnan(rung) or voice < rung:
            continue
        watched = receptions["watch"]
        before = np.searchsorted(watched, rung) - np.searchsorted(watched, rung - STAYS_MIN["watch"])
        head = (opening.opening, name, rung - start, bool(before))
        seen = spells(rung=rung, end=end, voice=voice, on=on)
        found += [(*head, *one) for one in seen or [(np.nan, np.nan, "")]]
    return found


def _stretches(minute: NDArray) -> NDArray:
    """Spans after sorted receptions in which the receiver is taken to be on, joined."""
    if not len(minute):
        return np.empty((0, 2))
    stays = STAYS_MIN[VOICE]
    fresh = np.flatnonzero(np.diff(minute, prepend=-np.inf) > stays)
    last = np.append(fresh[1:] - 1, len(minute) - 1)
    return np.column_stack([minute[fresh], minute[last] + stays])
