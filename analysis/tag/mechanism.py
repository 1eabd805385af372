"""By which mechanism a signal came: hard physical bounds, then Bayes, and no call when in doubt."""

from __future__ import annotations

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analysis.tag import features, likelihoods, paths, ranges, reasons
from analysis.tag.likelihoods import MECHANISMS, NEVER, RIVALS

CALL_FROM = 0.7  # judgement: seven in ten right is worth a name; below it is called undetermined
UNDETERMINED = "undetermined"
LABELS = pd.CategoricalDtype([*MECHANISMS, UNDETERMINED])
BLOCK = 250_000  # rows worked at once
LOOSE = list(likelihoods.TABLES)


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
        mechanism also where it is too small for a call, NaN where there is nothing to judge by or the
        report is doubtful;
        `mechanism_why`, one sentence (category); `hops`, 0 where it is no sporadic E.

    Notes
    -----
    posterior ∝ [prior(band) × product of p(feature | mechanism)]^0.9 with zeros outside the hard
    bounds; a call from 0.7. A propagation code in the file is not used.
    """
    classes = features.features(spots, pair=pair)
    code, loose = _combinations(classes[LOOSE])
    doubt, doubts = pd.factorize(spots["doubt"])
    believed = (spots["doubt"] == "").to_numpy()
    parts = [
        _block(classes.iloc[start : start + BLOCK], code[start : start + BLOCK], loose)
        for start in range(0, max(len(classes), 1), BLOCK)
    ]
    best, first, second, hops = (np.concatenate(columns) for columns in zip(*parts, strict=True))
    best = np.where(believed, best, np.float32(np.nan))
    called = (best >= CALL_FROM) & (first < len(MECHANISMS))
    hops = np.where(called, hops, 0).astype("int8")
    table = {
        "mechanism": pd.Categorical.from_codes(np.where(called, first, len(MECHANISMS)), dtype=LABELS),
        "mechanism_p": best,
        "mechanism_why": _reasons(
            classes.assign(km=spots["distance_km"], doubt=np.where(believed, 0, doubt + 1)),
            ["", *doubts],
            duel=(code * len(RIVALS) + first) * len(RIVALS) + second,
            loose=loose,
            called=called,
            hops=hops,
        ),
        "hops": hops,
    }
    return pd.DataFrame(table, index=spots.index)


def context(
    tagged: pd.DataFrame, *, pair: NDArray, lines: pd.DataFrame, disturbed: pd.DataFrame | None = None
) -> pd.DataFrame:
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
    disturbed : DataFrame, optional
        As for `tags.tag_spots`.
    """
    several = lines["distance_km"] > features.ONE_HOP_KM
    lon = lines["mid_lon"].where(~several, lines["near_lon"]).to_numpy()
    lat = lines["mid_lat"].where(~several, lines["near_lat"]).to_numpy()
    magnetic = lines["magnetic"].to_numpy()
    return tagged.assign(
        company_lon=lon[pair],
        company_lat=lat[pair],
        magnetic=magnetic[pair],
        planetary=features.field_class(tagged["time"], disturbed),
    )


def posteriors(classes: pd.DataFrame) -> NDArray:
    """Probability of each of `RIVALS` for rows of feature classes; NaN where there is no distance
    or the band is not judged."""
    code, loose = _combinations(classes[LOOSE])
    total = _total(classes, code, loose).T.astype("float64")
    highest = total.max(axis=1, keepdims=True)
    weight = np.exp(total - highest)
    return np.where(_judged(classes)[:, None], weight / weight.sum(axis=1, keepdims=True), np.nan)


def log_evidence(classes: pd.DataFrame) -> dict[str, NDArray]:
    """Natural logarithm of the evidence of each feature, rows by `RIVALS`."""
    evidence = {
        "bounds": ranges.log_bounds(classes),
        "band": ranges.log_band(classes),
        "distance": ranges.log_distance(classes),
    }
    return evidence | {name: likelihoods.log_table(name).T[classes[name].to_numpy()] for name in LOOSE}


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
    """Number of each row's combination of classes, and the combinations."""
    code = np.zeros(len(classes), dtype="int64")
    for name in classes:
        values = classes[name].to_numpy()
        code = code * (int(values.max(initial=0)) + 1) + values
    code, _ = pd.factorize(code)
    first = np.zeros(int(code.max(initial=-1)) + 1, dtype="int64")
    first[code[::-1]] = np.arange(len(code))[::-1]
    return code, classes.iloc[first].reset_index(drop=True)


def _total(classes: pd.DataFrame, code: NDArray, loose: pd.DataFrame) -> NDArray:
    """Log evidence, `RIVALS` by rows."""
    each = [likelihoods.log_table(name)[:, loose[name].to_numpy()] for name in LOOSE]
    return ranges.log_fixed(classes) + np.sum(each, axis=0).astype("float32")[:, code]


def _judged(classes: pd.DataFrame) -> NDArray:
    return ((classes["distance"] >= 0) & (classes["band"] > 0)).to_numpy()


def _block(classes: pd.DataFrame, code: NDArray, loose: pd.DataFrame) -> tuple[NDArray, ...]:
    """Probability of the likeliest rival, the two likeliest, and hops, for some rows."""
    total = _total(classes, code, loose)
    first, second = np.zeros(len(classes), "int8"), np.zeros(len(classes), "int8")
    top, runner_up = np.full(len(classes), -np.inf, "float32"), np.full(len(classes), -np.inf, "float32")
    for rival in range(len(RIVALS)):
        value = total[rival]
        leads, follows = value > top, value > runner_up
        second = np.where(leads, first, np.where(follows, rival, second))
        runner_up = np.where(leads, top, np.where(follows, value, runner_up))
        first, top = np.where(leads, rival, first), np.where(leads, value, top)
    best = np.where(_judged(classes), 1 / np.exp(total - top).sum(axis=0), np.nan).astype("float32")
    several = np.ceil(features.distance_km(classes["distance"].to_numpy()) / features.ONE_HOP_KM)
    return best, first, second, np.where(first == RIVALS.index("ES"), np.nan_to_num(several), 0)


def _reasons(classes, doubts, *, duel, loose, called, hops) -> pd.Categorical:
    """A sentence for every row; rows that share everything a sentence names share the sentence.

    `classes` with `km` and `doubt`, a position in `doubts`; `duel` packs the combination of loose
    features and the two likeliest rivals into one number.
    """
    number, which = pd.factorize(duel)
    first, second = which // len(RIVALS) % len(RIVALS), which % len(RIVALS)
    why = reasons.loudest(loose.iloc[which // len(RIVALS) ** 2], first, second)[number] + 1
    judged = _judged(classes) & (classes["doubt"] == 0).to_numpy()
    km = reasons.rounded_km(classes["km"].to_numpy("float64"))
    named = pd.DataFrame(
        {
            "km": np.where(classes["distance"] >= 0, km + 1, 0).astype("int16"),
            "band": classes["band"].to_numpy(),
            "first": first[number] * judged,
            "second": second[number] * (judged & ~called),
            "one": why[:, 0] * judged,
            "two": why[:, 1] * judged,
            "called": called,
            "hops": hops,
            "doubt": classes["doubt"].to_numpy(),
        }
    )
    code, unique = _combinations(named)
    columns = [unique[name].tolist() for name in unique]
    texts = [
        reasons.doubtful(doubts[d])
        if doubts[d]
        else reasons.sentence(km - 1, band, one, other, [a - 1, b - 1], called=bool(call), hops=n)
        for km, band, one, other, a, b, call, n, d in zip(*columns, strict=True)
    ]
    codes, names = pd.factorize(np.array(texts, dtype=object))
    sentences: pd.CategoricalDtype = pd.CategoricalDtype(names.tolist())
    return pd.Categorical.from_codes(codes[code], dtype=sentences)
