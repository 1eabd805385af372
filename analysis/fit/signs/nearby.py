"""What a station's place costs or gives it beside a neighbour a few kilometres away, by heading and mechanism."""

from __future__ import annotations

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analysis.find.signs import neighbours
from analysis.fit.signs import blocks
from analysis.gather.evidence.terrain import Terrain
from analysis.physics.earth import EARTH_KM
from analysis.physics.horizon import horizon_deg

SECTORS = ("N", "NE", "E", "SE", "S", "SW", "W", "NW")
LEAST_DAYS = 5  # a judgement: fewer days are one spell of weather
SURELY = 0.025  # of luck, up or down
PROFILE_KM = np.r_[
    0.2:5:0.2, 5:40.5:0.5
]  # where the ground is looked at; beyond 40 km a hill of 300 m is below 0.2 degrees
ANTENNA_M = (
    10.0  # above the ground, where nobody says (judgement; 10 m more lower a hill at 2 km by 0.3 degrees)
)
DIFFER, NONE = "differ", "no difference shown"
ALL, HEADING, MECHANISM = "all", "heading", "mechanism"
NOBODY = (
    f"no two stations within {neighbours.NEAR_KM:g} km, their squares known to six characters, reported {neighbours.LEAST_SAME} strong "
    "signals in the same minute; reports of neighbours who listen to the same beacons would tell"
)
METHOD = (
    "mean difference of SNR of the same signals in the same minute, those of 10 dB and more above the weakest; shares: transmitters of a "
    "half-hour heard by either while both listened; days left out in turn, 90 % interval, Holm over all rows"
)
COLUMNS = [
    *("station", "other", "km", "band", "by", "which", "n_same", "n_days", "snr_db", "snr_low", "snr_high"),
    *("n_heard", "share", "share_other", "share_more", "share_low", "share_high"),
    *("height_m", "height_other_m", "horizon_deg", "horizon_other_deg", "p_holm", "verdict", "reason"),
]


def neighbours_table(
    spots: pd.DataFrame, listening: pd.DataFrame, *, ground: Terrain | None = None
) -> pd.DataFrame:
    """Neighbours compared: as a whole, by heading, by mechanism.

    Parameters
    ----------
    spots : DataFrame
        Tagged spots.
    listening : DataFrame
        `station band start end`.
    ground : Terrain, optional
        Heights around the stations; without it heights and horizons stay NaN.

    Returns
    -------
    DataFrame
        One row per pair, band and part (`by which`): `snr_db` is by how much the station hears the same
        signals stronger than the other [dB], `share` and `share_other` of the transmitters that either heard
        the share each did, `share_more` their difference, each with its 90 % interval. `horizon_deg` is the
        highest of a sector's horizons. The verdict, of SNR, is "differ", "no difference shown" or "refuse".
    """
    pairs = neighbours.pairs_nearby(spots)
    same = neighbours.same_signals(spots, pairs)
    n_same = same.groupby(["station", "other"]).size()
    enough = pairs.set_index(["station", "other"]).loc[n_same.index[n_same >= neighbours.LEAST_SAME]]
    pairs = enough.reset_index()
    heard = neighbours.heard_by_either(spots, listening, pairs)
    found = []
    for pair in pairs.to_dict("records"):
        mine, theirs = (
            table[(table["station"] == pair["station"]) & (table["other"] == pair["other"])]
            for table in (same, heard)
        )
        for band, own in mine.groupby("band"):
            found += _pair(pair, own, theirs[theirs["band"] == band], ground=ground)
    if not found:
        return pd.DataFrame([{"verdict": "refuse", "reason": NOBODY}], columns=[*COLUMNS, "method"])
    table = pd.DataFrame(found, columns=COLUMNS)
    table["p_holm"] = blocks.holm(table["p_holm"])
    tested = table["p_holm"].notna()
    sure = table["p_holm"] <= SURELY
    table.loc[tested, "verdict"] = np.where(sure[tested], DIFFER, NONE)
    return table.assign(method=METHOD)


def _pair(pair: dict, own: pd.DataFrame, heard: pd.DataFrame, *, ground: Terrain | None) -> list[dict]:
    """Rows of one pair on one band."""
    about = {name: pair[name] for name in ("station", "other", "km")} | {"band": own["band"].iloc[0]}
    sector = np.round(own["bearing_deg"].to_numpy(float) / 45) % 8
    around = {"": _around(ground, pair, ""), "other_": _around(ground, pair, "other_")}
    rows = [about | {"by": ALL, "which": ""} | _snr(own) | _shares(heard) | _ground(around, None)]
    for number, name in enumerate(SECTORS):
        part = own[sector == number]
        if len(part) >= neighbours.LEAST_SAME:
            rows.append(about | {"by": HEADING, "which": name} | _snr(part) | _ground(around, number))
    for mechanism, part in own.groupby("mechanism"):
        if len(part) >= neighbours.LEAST_SAME:
            rows.append(about | {"by": MECHANISM, "which": mechanism} | _snr(part))
    return rows


def _snr(own: pd.DataFrame) -> dict:
    """Difference of SNR with its interval; its p value not yet corrected."""
    day = own["time"].dt.floor("D")
    told = {
        "n_same": len(own),
        "n_days": day.nunique(),
        "snr_db": np.nan,
        "snr_low": np.nan,
        "snr_high": np.nan,
    }
    if len(own) < neighbours.LEAST_SAME or told["n_days"] < LEAST_DAYS:
        few = f"{len(own)} signals heard by both on {told['n_days']} days; {neighbours.LEAST_SAME} and {LEAST_DAYS} are needed"
        return told | {"p_holm": np.nan, "verdict": "refuse", "reason": few}
    known = blocks.mean(own["diff_db"], day)
    ends = {"snr_db": known.value, "snr_low": known.low, "snr_high": known.high}
    return told | ends | {"p_holm": 2 * min(known.p, 1 - known.p), "verdict": "", "reason": ""}


def _shares(heard: pd.DataFrame) -> dict:
    """Share of what either heard that each of the two did, and the difference."""
    own, others = heard["own"].astype(float), heard["others"].astype(float)
    known = blocks.mean(own - others, heard["time"].dt.floor("D")) if len(heard) else blocks.UNKNOWN
    return {
        "n_heard": len(heard),
        "share": own.mean(),
        "share_other": others.mean(),
        "share_more": known.value,
        "share_low": known.low,
        "share_high": known.high,
    }


def _around(ground: Terrain | None, pair: dict, side: str) -> tuple[float, NDArray]:
    """Height of a station's ground [m] and its horizon in eight sectors [degrees]."""
    if ground is None:
        return np.nan, np.full(len(SECTORS), np.nan)
    lon, lat = pair[f"{side}lon"], pair[f"{side}lat"]
    height = float(ground.at(lon=np.array([lon]), lat=np.array([lat]))[0])
    heading = np.radians(np.arange(0, 360, 5.0))[:, None]
    per_km = np.degrees(1 / EARTH_KM)
    north, east = np.cos(heading) * PROFILE_KM * per_km, np.sin(heading) * PROFILE_KM * per_km
    profile = ground.at(lon=lon + east / np.cos(np.radians(lat)), lat=lat + north)
    angle = horizon_deg(profile, km=PROFILE_KM, eye_m=height + ANTENNA_M)
    sector = np.round(np.arange(0, 360, 5.0) / 45) % 8
    return height, np.array([np.max(angle[sector == n]) for n in range(len(SECTORS))])


def _ground(around: dict[str, tuple[float, NDArray]], sector: int | None) -> dict:
    """Heights of the two stations, and their horizons in a sector."""
    mine, theirs = around[""], around["other_"]
    told = {"height_m": mine[0], "height_other_m": theirs[0]}
    if sector is None:
        return told
    return told | {"horizon_deg": mine[1][sector], "horizon_other_deg": theirs[1][sector]}
