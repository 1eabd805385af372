"""Does the next band open after 6 m shortens? Chance and lead time by how short the skip has become."""

from __future__ import annotations

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy.special import expit, logit

from analysis.find import intervals
from analysis.find.reach import REGION, apart_km, directions
from analysis.fit.signs import blocks

# Lengths at which operators look up a band; common practice, no source.
SKIPS_KM = (1200.0, 1000.0, 800.0, 600.0)
WITHIN_MIN, WITHIN_KM = 120.0, 1000.0  # the upper band's opening begins so soon, and so near (judgement)
LEAST_OPENINGS, LEAST_LED = 20, 3  # judgement: below, one opening decides
COLUMNS = [
    "band",
    "upper",
    "skip_km",
    "n",
    "n_led",
    "chance",
    "low",
    "high",
    "lead_min",
    "n_longer",
    "chance_longer",
]
METHOD = f"share of openings, {blocks.METHOD}; an upper band that was open already is left out"


def chain_table(layer: pd.DataFrame, openings: pd.DataFrame, *, band: str = "6m") -> pd.DataFrame:
    """Chance that a higher band opens by sporadic E within two hours of the skip on `band` growing so short.

    Parameters
    ----------
    layer : DataFrame
        As `find.signs.layer.layer_bounds` makes it.
    openings : DataFrame
        Of every scope; the region's are looked at.
    band : str
        The band whose skip is watched.

    Returns
    -------
    DataFrame
        `band upper skip_km n n_led chance low high lead_min n_longer chance_longer verdict reason method`, one row
        per upper band (4m, 2m) and skip. `n_longer` openings never got so short, and `chance_longer` of
        those led from their start: what the short skip adds is the difference. Openings of the upper
        band that nobody heard are missing, so both chances are too low.
    """
    first = {skip: layer[(layer["band"] == band) & (layer["shortest_km"] <= skip)] for skip in SKIPS_KM}
    region = openings[(openings["scope"] == REGION) & (openings["mechanism"] == "ES")]
    own = region[region["band"] == band].merge(
        layer.groupby("opening")["season"].first().reset_index(), on="opening"
    )
    found = []
    for upper in ("4m", "2m"):
        above = region[region["band"] == upper]
        for skip, rows in first.items():
            when = rows.groupby("opening")["time"].min().reindex(own["opening"]).set_axis(own.index)
            short = own.assign(since=when)[when.notna()]
            longer = own[when.isna()]
            found.append({"band": band, "upper": upper, "skip_km": skip} | _led(short, longer, above))
    table = pd.DataFrame(found, columns=[*COLUMNS, "verdict", "reason"])
    return table.assign(method=METHOD)


def _led(short: pd.DataFrame, longer: pd.DataFrame, above: pd.DataFrame) -> dict:
    lead, other = _leads(short, short["since"], above), _leads(longer, longer["start"], above)
    known, n = ~(lead < 0), int((~(lead < 0)).sum())
    led = lead[known] >= 0
    told = {
        "n": n,
        "n_led": int(led.sum()),
        "chance": np.nan,
        "low": np.nan,
        "high": np.nan,
        "lead_min": float(np.median(lead[lead >= 0])) if led.sum() >= LEAST_LED else np.nan,
        "n_longer": int((~(other < 0)).sum()),
        "chance_longer": float((other[~(other < 0)] >= 0).mean()) if len(other) else np.nan,
    }
    if above.empty:
        return told | {"verdict": "refuse", "reason": "no opening of the upper band was reported"}
    if n < LEAST_OPENINGS or told["n_led"] < LEAST_LED:
        few = f"{n} openings got so short, {told['n_led']} of them led on; {LEAST_OPENINGS} and {LEAST_LED} are needed"
        return told | {"verdict": "refuse", "reason": few}
    rows = short[known]
    parts = pd.DataFrame({"led": led.astype(float), "n": 1.0})
    half = 0.5  # Jeffreys' pseudo-counts keep a block without any finite
    share = blocks.left_out(
        parts,
        blocks.blocks(rows["start"], rows["season"]),
        lambda of: logit((of["led"] + half) / (of["n"] + 2 * half)),
    )
    if not np.isfinite(share.value):
        return told | {
            "verdict": "refuse",
            "reason": f"fewer than {blocks.LEAST_BLOCKS} seasons or spells of days",
        }
    ends = dict(zip(["chance", "low", "high"], expit([share.value, share.low, share.high]), strict=True))
    return told | ends | {"verdict": "ok", "reason": ""}


def _leads(own: pd.DataFrame, since: pd.Series, above: pd.DataFrame) -> NDArray:
    """Minutes until an opening of the upper band began near; negative if one was on already, NaN if none came."""
    start, end = intervals.minutes(above["start"]), intervals.minutes(above["end"])
    places = directions(lon=above["mid_lon"], lat=above["mid_lat"])
    here = directions(lon=own["mid_lon"], lat=own["mid_lat"]) if len(own) else np.empty((0, 3))
    lead = np.full(len(own), np.nan)
    for k, moment in enumerate(intervals.minutes(since)):
        near = ~(apart_km(here[k], places) > WITHIN_KM)
        wait = start[near] - moment
        if ((wait < 0) & (end[near] >= moment)).any():
            lead[k] = -1.0
        elif ((wait >= 0) & (wait <= WITHIN_MIN)).any():
            lead[k] = wait[(wait >= 0) & (wait <= WITHIN_MIN)].min()
    return lead
