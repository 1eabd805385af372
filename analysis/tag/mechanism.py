"""By which mechanism a signal came: hard physical bounds, then Bayes, and no call when in doubt."""

from __future__ import annotations

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analysis.physics import sporadic_e
from analysis.tag import features, likelihoods, paths
from analysis.tag.likelihoods import MECHANISMS, MISTAKE, NEVER, RIVALS

TEMPER = 0.75  # features lean on each other, so together they count for less than their product
CALL_FROM = 0.7
UNDETERMINED = "undetermined"
LABELS = pd.CategoricalDtype([*MECHANISMS, UNDETERMINED])
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
HOP_KM = float(np.mean(sporadic_e.SOFT_EDGE_KM))
ERROR_KM = np.array([5.0, 40.0, 110.0])  # what stands for each class of the distance's error

# What a feature class says, in the words of a sentence; empty where it says nothing.
WORDS = {
    "mode": ["voice or Morse", "a slow digital mode", "a mode made for meteors", "a beacon"],
    "snr": ["", "very weak", "weak", "of fair strength", "strong"],
    "neighbours": [
        "",
        "nobody else near the midpoint",
        "one or two other paths near the midpoint",
        "several other paths near the midpoint",
        "ten or more other paths near the midpoint",
    ],
    "lasting": ["", "gone within minutes", "heard for a while", "heard for an hour or more"],
    "reach": [
        "",
        "company at short range",
        "company at medium range",
        "company at 800 to 1100 km",
        "company beyond 1100 km",
    ],
    "region": ["", "long paths elsewhere in the region", "many long paths in the region"],
    "hour": ["at night", "in the morning", "before and around noon", "in the afternoon", "in the evening"],
    "season": [
        f"in {name}" if name in ("winter", "spring", "autumn") else f"in the {name}"
        for name in features.MONTHS_IN_SEASON
    ],
    "shower": ["", "during a large meteor shower"],
    "company": [
        "",
        "long paths on a lower band too",
        "paths above 400 MHz too",
        "long paths on lower and higher bands too",
    ],
}


def call_mechanisms(spots: pd.DataFrame, *, pair: NDArray) -> pd.DataFrame:
    """The likeliest mechanism of every spot, or `undetermined`.

    Parameters
    ----------
    spots : DataFrame
        The columns that `features.features` needs.
    pair : ndarray of int
        Number of each spot's pair of locators.

    Returns
    -------
    DataFrame
        Index of `spots`: `mechanism` (category), `mechanism_p`, the probability of the likeliest
        mechanism also where it is too small for a call, NaN where there is nothing to judge by;
        `mechanism_why`, one sentence (category); `hops`, 0 where it is no sporadic E.

    Notes
    -----
    posterior ∝ [prior(band) × product of p(feature | mechanism)]^0.6 with zeros outside the hard
    bounds; a call from 0.7. A propagation code in the file is not used.
    """
    classes = features.features(spots, pair=pair)
    code, unique = _combinations(classes)
    posterior = posteriors(unique)
    table = _calls(unique, posterior)
    return table.take(code).set_index(spots.index)


def context(tagged: pd.DataFrame, *, pair: NDArray, lines: pd.DataFrame) -> pd.DataFrame:
    """The tagged table with what the features need beside the tags.

    Company is looked for at the midpoint; on a path longer than one hop at the quarter point nearest
    the receiver, where its first hop is reflected.

    Parameters
    ----------
    tagged : DataFrame
    pair : ndarray of int
        Row of `lines` for each spot.
    lines : DataFrame
        `tags.path_tags`.
    """
    several = lines["distance_km"] > HOP_KM
    lon = lines["mid_lon"].where(~several, lines["near_lon"]).to_numpy()
    lat = lines["mid_lat"].where(~several, lines["near_lat"]).to_numpy()
    magnetic = lines["magnetic"].to_numpy()
    return tagged.assign(company_lon=lon[pair], company_lat=lat[pair], magnetic=magnetic[pair])


def posteriors(classes: pd.DataFrame) -> NDArray:
    """Probability of each of `RIVALS` for rows of feature classes; NaN where there is no distance
    or the band is not judged."""
    total = np.sum(list(log_evidence(classes).values()), axis=0) * TEMPER
    highest = total.max(axis=1, keepdims=True)
    weight = np.exp(total - highest)
    judged = (classes["distance"] >= 0) & (classes["band"] > 0) & (highest[:, 0] > NEVER / 2 * TEMPER)
    return np.where(judged.to_numpy()[:, None], weight / weight.sum(axis=1, keepdims=True), np.nan)


def log_evidence(classes: pd.DataFrame) -> dict[str, NDArray]:
    """Natural logarithm of the evidence of each feature, rows by `RIVALS`, before tempering."""
    band = classes["band"].to_numpy()
    sea = classes["sea"].to_numpy()
    mhz = np.array([50.3, *features.BAND_MHZ.values()])[band]
    distance = np.nan_to_num(features.distance_km(classes["distance"].to_numpy()), nan=1.0)
    evidence = {"bounds": _bounds(classes, distance, mhz), "band": likelihoods.log_prior(band)}
    evidence["distance"] = likelihoods.log_distance(distance, mhz=mhz, sea=sea)
    for name in likelihoods.TABLES:
        evidence[name] = likelihoods.log_table(name).T[classes[name].to_numpy()]
    return evidence


def evidence(tagged: pd.DataFrame, *, rows: list[int]) -> pd.DataFrame:
    """Why some spots were called what they were: the log evidence of every feature.

    Parameters
    ----------
    tagged : DataFrame
        What `tags.tag_spots` returns; all of it, since neighbours count.
    rows : list of int
        Positions of the spots to explain.

    Returns
    -------
    DataFrame
        Index (`spot`, `feature`), one column for each of `likelihoods.RIVALS`: natural logarithms before
        tempering, relative to the best of the line; -inf is a hard bound.
    """
    pair, pairs = paths.pair_codes(tagged)
    lines = paths.pair_table(pairs)
    lines["magnetic"] = features.magnetic_class(lines)
    classes = features.features(context(tagged, pair=pair, lines=lines), pair=pair).iloc[rows]
    parts = []
    for name, values in log_evidence(classes).items():
        relative = values - values.max(axis=1, keepdims=True)
        frame = pd.DataFrame(np.where(relative <= NEVER / 2, -np.inf, relative), columns=RIVALS)
        parts.append(frame.assign(spot=tagged.index[rows], feature=name))
    return pd.concat(parts).set_index(["spot", "feature"]).sort_index(level="spot", sort_remaining=False)


def disagreements(tagged: pd.DataFrame) -> pd.DataFrame:
    """Spots whose file names another mechanism than the one called here.

    Parameters
    ----------
    tagged : DataFrame
        `prop_mode` beside the tags. Rows without a code, or without a call, disagree with nobody.

    Returns
    -------
    DataFrame
        `source source_row time band distance_km prop_mode mechanism mechanism_p mechanism_why` of those
        rows, in their order.
    """
    theirs = tagged["prop_mode"].astype("str").str.upper()
    ours = tagged["mechanism"].astype("str")
    differ = (theirs != "") & (ours != UNDETERMINED) & (theirs != ours)
    columns = ["source", "source_row", "time", "band", "distance_km", "prop_mode"]
    return tagged.loc[differ, [*columns, "mechanism", "mechanism_p", "mechanism_why"]]


def _combinations(classes: pd.DataFrame) -> tuple[NDArray, pd.DataFrame]:
    code = np.zeros(len(classes), dtype="int64")
    for name in classes:
        values = classes[name].to_numpy().astype("int64") + 1
        code = code * (int(values.max(initial=0)) + 1) + values
    code, first = pd.factorize(code)[0], None
    first = np.zeros(int(code.max(initial=-1)) + 1, dtype="int64")
    first[code[::-1]] = np.arange(len(code))[::-1]
    return code, classes.iloc[first].reset_index(drop=True)


def _bounds(classes: pd.DataFrame, distance: NDArray, mhz: NDArray) -> NDArray:
    """0 where a mechanism is possible, `NEVER` where the distance, widened by its error, forbids it."""
    error = ERROR_KM[classes["error"].to_numpy().clip(0, 2)] + 25.0  # half a distance class
    sea = classes["sea"].to_numpy()
    result = np.full((len(classes), len(RIVALS)), NEVER)
    for frequency, share in set(zip(mhz, sea, strict=True)):
        rows = np.flatnonzero((mhz == frequency) & (sea == share))
        for place, mechanism in enumerate(RIVALS):
            low, high = likelihoods.reach(mechanism, mhz=frequency, sea=share)
            inside = (distance[rows] + error[rows] >= low) & (distance[rows] - error[rows] <= high)
            result[rows[inside], place] = 0.0
    magnetic = classes["magnetic"].to_numpy()
    result[magnetic != 1, RIVALS.index("TEP")] = NEVER
    result[magnetic != 2, RIVALS.index("AUR")] = NEVER
    return result


def _calls(classes: pd.DataFrame, posterior: NDArray) -> pd.DataFrame:
    """Label, probability, sentence and hops of each combination."""
    known = ~np.isnan(posterior[:, 0])
    ranks = np.argsort(-np.nan_to_num(posterior), axis=1, kind="stable")
    best = np.take_along_axis(posterior, ranks[:, :1], axis=1)[:, 0]
    called = known & (best >= CALL_FROM) & (ranks[:, 0] < len(MECHANISMS))
    label = np.where(called, ranks[:, 0], len(MECHANISMS))
    distance = features.distance_km(classes["distance"].to_numpy())
    hops = np.where(label == MECHANISMS.index("ES"), np.ceil(distance / HOP_KM), 0)
    sentences = _sentences(classes, ranks, best, called, hops)
    return pd.DataFrame(
        {
            "mechanism": pd.Categorical.from_codes(label, dtype=LABELS),
            "mechanism_p": best.astype("float32"),
            "mechanism_why": pd.Categorical(sentences),
            "hops": hops.astype("int8"),
        }
    )


def _sentences(classes, ranks, best, called, hops) -> list[str]:
    """The reason in words: the two features that speak loudest for the best against the next."""
    names = list(WORDS)
    rows = np.arange(len(classes))
    logs = log_evidence(classes)
    gap = np.column_stack([logs[n][rows, ranks[:, 0]] - logs[n][rows, ranks[:, 1]] for n in names])
    silent = np.column_stack([np.array([not w for w in WORDS[n]])[classes[n]] for n in names])
    loudest = np.argsort(-np.where(silent, -1.0, gap), axis=1, kind="stable")[:, :2]
    distance = features.distance_km(classes["distance"].to_numpy())
    columns = {n: classes[n].to_numpy() for n in (*names, "band")}
    return [_sentence(i, distance, columns, ranks, best, called, hops, loudest, gap, names) for i in rows]


def _sentence(i, distance, columns, ranks, best, called, hops, loudest, gap, names) -> str:
    band = features.BANDS[columns["band"][i]]
    if np.isnan(distance[i]):
        return "No distance to judge by: a locator is missing."
    if band == "other":
        return "No call: mechanisms are told apart from 10 m to 23 cm only."
    if np.isnan(best[i]):
        return f"No call: no mechanism known to us carries {band} over about {distance[i]:.0f} km."
    first, second = (NAMES[RIVALS[k]] for k in ranks[i, :2])
    reasons = [WORDS[names[k]][columns[names[k]][i]] for k in loudest[i] if gap[i, k] > 0.1]
    because = "".join(f", {reason}" for reason in reasons)
    where = f"about {distance[i]:.0f} km on {band}{because}"
    if not called[i]:
        return f"No call: {where}; {first} is likeliest, {second} cannot be ruled out."
    hop = f" in {int(hops[i])} hops" if hops[i] > 1 else ""
    return f"{first[0].upper()}{first[1:]}{hop}: {where}."
