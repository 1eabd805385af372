"""The trade's rule of thumb for tropo, put to the test.

Overland paths are said to be strongest at sunrise and weakest in mid-afternoon, sea paths the reverse
(common practice, no source). Sunrise and afternoon of the same day are compared, so that good days,
busy days and seasons cancel; chance is what remains when the signs of ten-day blocks are flipped.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
import pandas as pd
from scipy.stats import t
from statsmodels.stats.multitest import multipletests

from analysis.fit.assess import monitored
from analysis.fit.estimate import Estimate, Series, refused
from analysis.fit.model.curves import LEVEL, Fit, chances
from analysis.fit.model.harmonics import HALF_HOURS
from analysis.fit.peaks import draws

SUNRISE = (5.5, 8.0)  # sun-phase hours: sunrise is 6
AFTERNOON = (13.5, 16.0)  # sun-phase hours: the middle of the afternoon of an equinox
PEAK_AT_SUNRISE = (5.5, 8.5)  # sun-phase hours about sunrise in which a maximum is called one of sunrise
BLOCK_DAYS = 10  # judgement: weather hangs together over some ten days
FLIPS = 1999  # speed
DAYS_NEEDED = 20  # judgement: fewer carry no test
WORTH_SAYING = 1.25  # a ratio below this is of no use to an operator
METHOD = "same-day contrast of sunrise and afternoon, signs of ten-day blocks flipped, Holm over the family"


def rule_of_thumb(series: Sequence[Series], *, flips: int = FLIPS, seed: int = 0) -> dict[str, Estimate]:
    """Test the rule on the tropo series of one band.

    Parameters
    ----------
    series : sequence of Series
        Tropo series of one band on the sun axis; land and sea are used, one or both.
    flips : int
        Random sign flips.

    Returns
    -------
    dict
        `sunrise over afternoon on land paths`, `afternoon over sunrise on sea paths` (ratio of
        chances), `land and sea differ` and `land peak at sunrise`, as far as the series allow. The
        verdict is supported (p after Holm at most 0.05, and the interval of the ratio beyond one),
        contradicted (both the other way), not supported (a ratio worth saying is ruled out), cannot
        tell, or refuse.
    """
    by_path = {one.path_type: one for one in series if one.path_type in ("land", "sea")}
    barred = {path: _barred(one) for path, one in by_path.items()}
    days = {
        path: contrast_days(one.cells if one.even is None else one.even)
        for path, one in by_path.items()
        if not barred[path]
    }
    members = _members(days, {path: one.fit for path, one in by_path.items()}, flips=flips, seed=seed)
    family = multipletests([member[0] for member in members.values()], method="holm")[1]
    adjusted = dict(zip(members, family, strict=True))
    found = {}
    for path, name in (
        ("land", "sunrise over afternoon on land paths"),
        ("sea", "afternoon over sunrise on sea paths"),
    ):
        if path in by_path:
            found[name] = (
                refused(barred[path], unit="times", method=METHOD)
                if barred[path]
                else _judge(days[path], members[path], adjusted[path], sign=1 if path == "land" else -1)
            )
    if "interaction" in members:
        found["land and sea differ"] = _agreement(
            members["interaction"], adjusted["interaction"], len(days["land"])
        )
    if "argmax" in members:
        found["land peak at sunrise"] = _agreement(members["argmax"], adjusted["argmax"], len(days["land"]))
    return found


def contrast_days(cells: pd.DataFrame) -> pd.DataFrame:
    """Share of monitored half-hours that were open at sunrise and in the afternoon of each day.

    Returns
    -------
    DataFrame
        `season day sunrise afternoon`, only days on which both were listened to; `day` is a running
        number of the local day.
    """
    listened = cells[monitored(cells)]
    hour = listened["hour"].to_numpy(dtype=float)
    since = (listened["start"] - pd.Timestamp("2000-01-01", tz="UTC")).dt.total_seconds().to_numpy() / 86400
    midnight = since - hour / 24
    drift = np.angle(np.exp(2j * np.pi * midnight).mean()) / (2 * np.pi) if len(listened) else 0.0
    table = pd.DataFrame(
        {
            "season": listened["season"].to_numpy(),
            "day": np.round(midnight - drift).astype("int64"),
            "open": (listened["n_detected"] > 0).to_numpy(),
            "part": np.select(
                [_within(hour, SUNRISE), _within(hour, AFTERNOON)], ["sunrise", "afternoon"], ""
            ),
        }
    )
    share = table[table["part"] != ""].pivot_table(index=["season", "day"], columns="part", values="open")
    return share.reindex(columns=["sunrise", "afternoon"]).dropna().reset_index().rename_axis(columns=None)


def flipped_p(difference: np.ndarray, block: np.ndarray, *, flips: int, seed: int) -> tuple[float, float]:
    """Chance of a sum so large, and of one so small, if each block's sign were a coin's."""
    sums = pd.Series(difference).groupby(block).sum().to_numpy()
    rng = np.random.default_rng(seed)
    null = rng.choice([-1.0, 1.0], size=(flips, len(sums))) @ sums
    total = sums.sum()
    slack = 1e-9 * np.abs(sums).sum()
    large, small = (null >= total - slack).sum(), (null <= total + slack).sum()
    return (large + 1) / (flips + 1), (small + 1) / (flips + 1)


def _within(hour: np.ndarray, span: tuple[float, float]) -> np.ndarray:
    return (hour >= span[0]) & (hour < span[1])


def _barred(one: Series) -> str:
    """Why a series cannot be put to the test, empty if it can."""
    if one.fit.verdict.status == "refuse":
        return one.fit.verdict.reason
    if one.tier != "A":
        return "people come on when it is open, which fools this test; it needs receivers that always run"
    days = contrast_days(one.cells if one.even is None else one.even)
    if len(days) < DAYS_NEEDED:
        return (
            f"only {len(days)} days were listened to at sunrise and in the afternoon, of {DAYS_NEEDED} needed"
        )
    if not (days["sunrise"].any() or days["afternoon"].any()):
        return "no opening at sunrise or in the afternoon of any day listened to"
    return ""


def _members(days: Mapping[str, pd.DataFrame], fits: Mapping[str, Fit], *, flips: int, seed: int) -> dict:
    """One pair of one-sided p values (for the rule, against it) per member of the family."""
    members = {}
    for path, sign in (("land", 1), ("sea", -1)):
        if path in days:
            table = days[path]
            difference = sign * (table["sunrise"] - table["afternoon"])
            members[path] = _flipped(difference, table["day"], flips, seed)
    if len(days) == 2:
        both = days["land"].merge(days["sea"], on="day", suffixes=("_land", "_sea"))
        difference = (
            both["sunrise_land"] - both["afternoon_land"] - both["sunrise_sea"] + both["afternoon_sea"]
        )
        members["interaction"] = _flipped(difference, both["day"], flips, seed)
    if "land" in days:
        curves = chances(fits["land"], by="hour", betas=draws(fits["land"]))
        outside = ~_within(HALF_HOURS[curves.argmax(axis=1)], PEAK_AT_SUNRISE)
        share = (outside.sum() + 1) / (len(outside) + 1)
        members["argmax"] = (share, 1 - share + 1 / len(outside))
    return members


def _flipped(difference: pd.Series, day: pd.Series, flips: int, seed: int) -> tuple[float, float]:
    return flipped_p(difference.to_numpy(), day.to_numpy() // BLOCK_DAYS, flips=flips, seed=seed)


def _judge(days: pd.DataFrame, p: tuple[float, float], p_holm: float, *, sign: int) -> Estimate:
    """Ratio of the chances the rule compares, and one of the four verdicts."""
    ratio, low, high = _ratio(days, sign)
    words = f"p {p_holm:.3f} after Holm"
    if p_holm <= 0.05 and low > 1:
        verdict, reason = "supported", words
    elif p[1] <= 0.05 and high < 1:
        verdict, reason = "contradicted", f"the contrast runs the other way, p {p[1]:.3f}"
    elif high < WORTH_SAYING:
        verdict, reason = "not supported", f"{words}; a ratio of {WORTH_SAYING:g} or more is ruled out"
    else:
        verdict, reason = "cannot tell", f"{words}; the data allow both no difference and a useful one"
    return Estimate(ratio, low, high, "times", len(days), METHOD, verdict, reason)


def _ratio(days: pd.DataFrame, sign: int) -> tuple[float, float, float]:
    """Ratio of mean shares with a 90 % interval: seasons left out if there are three, else ten-day blocks."""
    parts = days["season"] if days["season"].nunique() >= 3 else days["day"] // BLOCK_DAYS
    sums = days.assign(n=1.0).groupby(parts.to_numpy())[["sunrise", "afternoon", "n"]].sum()
    total = sums.sum()

    def log_ratio(of):
        small = 0.25  # of an open half-hour: keeps a window without any opening finite
        return sign * np.log((of["sunrise"] + small) / (of["afternoon"] + small))

    whole, left = log_ratio(total), log_ratio(total - sums)
    n = len(sums)
    error = np.sqrt((n - 1) / n * ((left - whole) ** 2).sum())
    half = t.ppf((1 + LEVEL) / 2, n - 1) * error
    return float(np.exp(whole)), float(np.exp(whole - half)), float(np.exp(whole + half))


def _agreement(p: tuple[float, float], p_holm: float, n: int) -> Estimate:
    """A member of the family without a ratio of its own: only its verdict."""
    if p_holm > 0.05 >= p[1]:
        return refused(f"it is the other way round, p {p[1]:.3f}", n=n, method=METHOD, verdict="contradicted")
    verdict = "supported" if p_holm <= 0.05 else "cannot tell"
    return refused(f"p {p_holm:.3f} after Holm", n=n, method=METHOD, verdict=verdict)
