"""What watched paths buy: learnt inside half-hours that are known to be open.

Detection and openness cannot be told apart by how often anything is reported. But in a half-hour with a
report one can ask whether it would have been noticed had fewer squares been on the air.
"""

from __future__ import annotations

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike, NDArray
from scipy.optimize import minimize
from scipy.special import expit

PRIOR = np.array([-2.7, 0.9])  # log of a, log odds of g; weak (a standard deviation of one)


def detection(n: ArrayLike, law: NDArray) -> NDArray:
    """Chance that an open half-hour with so many watched paths shows a report: 1 − exp(−a n^g).

    `law` holds the log of a and the log odds of g: with g below one a further path buys less and less,
    since neighbouring paths see the same sky.
    """
    n = np.asarray(n, dtype=float)
    return -np.expm1(-_load(n, law))


def learn(tests: pd.DataFrame, *, start: NDArray = PRIOR) -> NDArray:
    """The law of `detection` that thinned half-hours speak for.

    Parameters
    ----------
    tests : DataFrame
        `left whole seen share weight`: watched paths left and in all, whether one that is left was reported,
        how many squares were kept, and the chance that the half-hour was open. Together the shares count as
        much as one look at each half-hour.
    start : array
        Where to begin.
    """
    left, whole = tests["left"].to_numpy(dtype=float), tests["whole"].to_numpy(dtype=float)
    seen = tests["seen"].to_numpy()
    weight = tests["weight"].to_numpy() / max(tests["share"].nunique(), 1)

    def loss(law: NDArray) -> tuple[float, NDArray]:
        some, all_ = _load(left, law), _load(whole, law)
        chance = np.clip(np.expm1(-some) / np.expm1(-all_), 1e-12, 1 - 1e-12)
        # The log of 1 − exp(−load) grows with the log of the load by load / (exp(load) − 1).
        by_some, by_all = some / np.expm1(some), all_ / np.expm1(all_)
        power = expit(law[1]) * expit(-law[1])
        slopes = np.stack([by_some - by_all, power * (by_some * np.log(left) - by_all * np.log(whole))])
        score = weight * np.where(seen, 1.0, -chance / (1 - chance))
        value = weight @ np.where(seen, np.log(chance), np.log1p(-chance))
        away = law - PRIOR
        return 0.5 * float(away @ away) - float(value), away - slopes @ score

    return minimize(loss, start, jac=True, method="BFGS", options={"gtol": 1e-8}).x


def _load(n: NDArray, law: NDArray) -> NDArray:
    return np.exp(np.minimum(law[0] + expit(law[1]) * np.log(np.maximum(n, 1e-9)), 6.0))
