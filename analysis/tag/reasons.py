"""Why a spot was called what it was, in one sentence."""

from __future__ import annotations

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analysis.tag import bands
from analysis.tag.likelihoods import MISTAKE, RIVALS, log_table

NAMES = {
    "ES": "sporadic E",
    "TR": "tropo",
    "MS": "meteor scatter",
    "AS": "aircraft scatter",
    "AUR": "aurora",
    "F2": "the F2 layer",
    "TEP": "trans-equatorial propagation",
    "LOS": "a local path",
    MISTAKE: "a wrong locator or a false decode",
}
_SEASONS = ["winter", "spring", "the early season", "the high season", "the late season", "autumn", "winter"]

# What a feature class says, in the words of a sentence; empty where it says nothing.
WORDS = {
    "mode": ["voice or Morse", "a slow digital mode", "a mode made for meteors", "a beacon", ""],
    "snr": ["", "very weak", "weak", "of fair strength", "strong"],
    "neighbours": [
        "",
        "nobody else near the midpoint",
        "one or two other paths near the midpoint",
        "several other paths near the midpoint",
        "ten or more other paths near the midpoint",
    ],
    "lasting": [
        "",
        "signals that way for minutes only",
        "signals that way for minutes only, though on several paths",
        "signals that way for a while",
        "signals that way for an hour or more",
    ],
    "reach": [
        "",
        "neighbouring paths below 450 km",
        "neighbouring paths of 450 to 800 km",
        "neighbouring paths of 800 to 1100 km",
        "neighbouring paths beyond 1100 km",
    ],
    "region": ["", "long paths elsewhere in the region", "many long paths in the region"],
    "hour": ["at night", "in the morning", "before and around noon", "in the afternoon", "in the evening"],
    "season": [f"in {name}" for name in _SEASONS * 2],
    "magnetic": ["", "its ends on either side of the magnetic equator", "within reach of the aurora"],
    "shower": ["", "during a large meteor shower"],
    "planetary": ["", "in a quiet field", "in an unsettled field", "in a disturbed field"],
    "standing": ["", "", "heard on many days", "heard on most days"],
    "again": [
        "",
        "not heard again within the hour",
        "heard again within minutes only",
        "heard again within the hour",
        "heard for most of the hour",
    ],
    "company": [
        "",
        "long paths on a lower band too",
        "paths above 400 MHz too",
        "long paths on lower and higher bands too",
    ],
}
NOTHING = -1  # in place of a reason
PLACES = 20  # more than any feature has classes
SILENT = 0.25  # evidence smaller than this [natural logarithm] is no reason


def loudest(loose: pd.DataFrame, first: NDArray, second: NDArray) -> NDArray:
    """The two feature classes that speak most for one rival against another.

    Parameters
    ----------
    loose : DataFrame
        Classes of the features in `WORDS`.
    first, second : ndarray of int
        Positions in `RIVALS`.

    Returns
    -------
    ndarray of int, rows by 2
        `PLACES` times the number of the feature plus its class, or `NOTHING`.
    """
    gaps = np.empty((len(loose), len(WORDS)))
    for place, name in enumerate(WORDS):
        table, value = log_table(name), loose[name].to_numpy()
        spoken = np.array([bool(words) for words in WORDS[name]])[value]
        # What says nothing about the first itself is no reason for it, however it speaks against the second.
        tells = np.ptp(table, axis=1)[first] > SILENT
        gaps[:, place] = np.where(spoken & tells, table[first, value] - table[second, value], -1.0)
    best = np.argsort(-gaps, axis=1, kind="stable")[:, :2]
    value = np.take_along_axis(loose[list(WORDS)].to_numpy(), best, axis=1)
    return np.where(np.take_along_axis(gaps, best, axis=1) > SILENT, best * PLACES + value, NOTHING)


def likely_mistakes(spots: pd.DataFrame) -> pd.Series:
    """Mask of reports of which a wrong locator or a false decode is the likeliest explanation.

    Their distances are no distances: they enter no record, quantile or map. A table without sentences has none.
    """
    if "mechanism_why" not in spots:
        return pd.Series(False, index=spots.index)
    why = spots["mechanism_why"].astype("category")
    said = why.cat.categories[why.cat.categories.str.contains(f"{NAMES[MISTAKE]} is likeliest", regex=False)]
    return why.isin(said)


def rounded_km(distance_km: NDArray) -> NDArray:
    """Distance as a sentence names it: to 10 km below 100, 20 below 300, 50 below 1000, 100 below 5000, else 500."""
    known = np.nan_to_num(distance_km)
    step = np.select([known < 100, known < 300, known < 1000, known < 5000], [10.0, 20.0, 50.0, 100.0], 500.0)
    return np.round(known / step) * step


def doubtful(doubt: str) -> str:
    """The sentence of a report that something speaks against."""
    return f"No call, for the report itself is doubtful: {doubt}."


def sentence(
    km: float, band: int, first: int, second: int, why: list[int], *, called: bool, hops: int
) -> str:
    """One readable sentence on a report that nothing speaks against.

    Parameters
    ----------
    km : float
        -1 if unknown.
    band : int
        Position in `bands.BANDS`.
    first, second : int
        The two likeliest of `RIVALS`.
    why : list of int
        Reasons as `loudest` gives them.
    called : bool
    hops : int
    """
    if km < 0:
        return "No distance to judge by: a locator is missing."
    if band == 0:
        return "No call: mechanisms are told apart from 10 m to 23 cm only."
    name = bands.BANDS[band]
    words = [WORDS[list(WORDS)[code // PLACES]][code % PLACES] for code in why if code != NOTHING]
    place = f"about {km:.0f} km" if km else "a few kilometres"
    where = ", ".join([f"{place} on {name}", *(words or ["judged by its distance"])])
    if not called:
        return f"No call: {where}; {NAMES[RIVALS[first]]} is likeliest, {NAMES[RIVALS[second]]} cannot be ruled out."
    label = NAMES[RIVALS[first]]
    hop = f" in {hops} hops" if hops > 1 else ""
    return f"{label[0].upper()}{label[1:]}{hop}: {where}."
