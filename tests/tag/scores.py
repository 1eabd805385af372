"""How well mechanisms are called on a simulated season, for tests and the benchmark."""

from functools import lru_cache

import numpy as np
import pandas as pd

from analysis.tag import features, likelihoods, mechanism, paths, tags


@lru_cache
def season(make, seed, degraded):
    """Tagged spots of a simulated season, the truth, and the posterior over `likelihoods.RIVALS`."""
    table, truth = make(seed=seed, degraded=degraded)
    tagged = tags.tag_spots(table)
    return tagged, truth, mechanism.posteriors(classes(tagged, truth)[0])


def classes(spots, truth):
    """Feature classes of a spot table, tagged or not, and the truth beside them."""
    tagged = spots if "mid_lon" in spots else tags.tag_spots(spots)
    pair, pairs = paths.pair_codes(tagged)
    lines = paths.pair_table(pairs)
    lines["magnetic"] = features.magnetic_class(lines)
    return features.features(mechanism.context(tagged, pair=pair, lines=lines), pair=pair), truth


def judged(make, *, seeds, degraded):
    """Truth, likeliest mechanism and its probability, and the distance, over some seasons, one row for each spot."""
    parts = []
    for seed in seeds:
        tagged, truth, posterior = season(make, seed, degraded)
        likeliest = np.array(likelihoods.RIVALS)[posterior.argmax(axis=1)]
        columns = {
            "truth": truth,
            "label": likeliest,
            "p": posterior.max(axis=1),
            "km": tagged["distance_km"],
        }
        parts.append(pd.DataFrame(columns))
    return pd.concat(parts, ignore_index=True)


def calibration_error(best, right):
    """Expected calibration error in ten classes of the stated probability."""
    place = np.clip((best * 10).astype(int), 0, 9)
    gaps = [abs(right[place == k].mean() - best[place == k].mean()) * (place == k).mean() for k in set(place)]
    return sum(gaps)


def called(rows):
    """Mask of spots that get a call."""
    return (rows["p"] >= mechanism.CALL_FROM) & (rows["label"] != likelihoods.MISTAKE)


def recalls(rows):
    """Share of each true mechanism whose likeliest one is right."""
    return (rows["label"] == rows["truth"]).groupby(rows["truth"]).mean()


def summary(rows):
    """Balanced accuracy, calibration error, share that gets a call, and share of those calls that are right."""
    right, call = rows["label"] == rows["truth"], called(rows)
    return {
        "balanced accuracy": recalls(rows).mean(),
        "calibration error": calibration_error(rows["p"].to_numpy(), right.to_numpy()),
        "called": call.mean(),
        "calls right": right[call].mean(),
    }
