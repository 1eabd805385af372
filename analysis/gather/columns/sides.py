"""Which column is the transmitter's and which the receiver's, from how the columns agree with each other.

Two facts of radio decide where no header does. A transmitter has one frequency at a time, whoever
reports it, while a receiver hears many frequencies at once; and a stated power is the
transmitter's, the same in all its reports. A locator belongs to the call it hardly ever changes
with. Nothing is decided on less than clear evidence.
"""

from __future__ import annotations

import numpy as np
import pandas as pd
from pyproj import Geod

from analysis.gather import locators
from analysis.gather.cells import kinds, values

CLEAR, UNCLEAR = 0.9, 0.6  # agreement inside groups that a true owner exceeds, and a false one stays under
# Powers that people state; common practice, no source.
ROUND_WATTS = [base * 10.0**power for power in range(-3, 4) for base in (1, 1.5, 2, 2.5, 3, 4, 5, 8)]
# Powers in dBm that no round number of watts hides; the usual steps of beacons, common practice, no source.
ODD_DBM = [3, 7, 13, 17, 23, 27, 33, 37, 43, 44, 46, 47, 53, 56, 57]
ROUND_DBM = [0, 10, 20, 30, 40, 50, 60, *ODD_DBM]  # the same, with those that are round in watts too
PAIRS = 10  # fewest pairs of reports that count as evidence


def transmitter(
    sample: pd.DataFrame,
    *,
    calls: tuple[str, str],
    time: pd.Series | None,
    freq_khz: pd.Series | None,
    numbers: list[str],
) -> tuple[str, str, str]:
    """The one of two columns of calls that names the transmitter.

    Parameters
    ----------
    sample : DataFrame
        Cells of the table as text.
    calls : pair of str
        The two columns.
    time : Series or None
        When each row was received, anything that sorts.
    freq_khz : Series or None
        Frequencies [kHz].
    numbers : list of str
        Further columns of numbers, one of which may be the power.

    Returns
    -------
    column, power, why : str
        Empty where the evidence is missing or contradicts itself; `power` is the column that
        behaves as the transmitter's power.
    """
    votes: dict[str, list[str]] = {call: [] for call in calls}
    if time is not None and freq_khz is not None:
        winner = _by_frequency(sample, calls=calls, time=time, freq_khz=freq_khz)
        if winner:
            votes[winner].append("one frequency at a time, whoever reports it")
    power, winner = _by_power(sample, calls=calls, numbers=numbers)
    if winner:
        votes[winner].append(f"column {power} keeps its value with this call")
    won = [call for call in calls if votes[call]]
    if len(won) != 1:
        return "", "", ""
    return won[0], power, "; ".join(votes[won[0]])


def _by_frequency(sample, *, calls: tuple[str, str], time: pd.Series, freq_khz: pd.Series) -> str:
    """A group of reports at one time by one call shares a frequency if the call transmitted."""
    if freq_khz.nunique() < 5:
        return ""
    agreement = {call: kinds.spread(freq_khz, by=[time, sample[call]], tolerance=0.2) for call in calls}
    first, second = calls
    for this, other in ((first, second), (second, first)):
        (own, n_own), (others, n_others) = agreement[this], agreement[other]
        if n_others >= PAIRS and others <= UNCLEAR and (n_own < PAIRS or own >= CLEAR):
            return this
    return ""


def _by_power(sample, *, calls: tuple[str, str], numbers: list[str]) -> tuple[str, str]:
    """Column of numbers that is the same in all reports of one call and not of the other, and that call."""
    found = []
    for column in numbers:
        value = values.over_unique(sample[column], values.numbers)
        if not _like_powers(value):
            continue
        agreement = {call: kinds.spread(value, by=[sample[call]], tolerance=0) for call in calls}
        first, second = calls
        for this, other in ((first, second), (second, first)):
            (own, n_own), (others, n_others) = agreement[this], agreement[other]
            constant = _constant_share(value, sample[this])
            if min(n_own, n_others) >= PAIRS and own >= 0.98 and constant >= 0.95 and others <= 0.9:
                found.append((column, this))
    winners = {call for _, call in found}
    return (found[0][0], found[0][1]) if len(winners) == 1 else ("", "")


def _like_powers(value: pd.Series) -> bool:
    """Several round powers over a wide range, in W or dBm: heights and zones of a receiver are none."""
    distinct = pd.Series(value.dropna().unique())
    if len(distinct) < 4:
        return False
    in_watts = distinct.isin(ROUND_WATTS).all() and distinct.max() >= 10 * distinct.min()
    return bool(in_watts or (distinct.isin(ROUND_DBM).all() and distinct.isin(ODD_DBM).sum() >= 3))


def _constant_share(value: pd.Series, call: pd.Series) -> float:
    """Share of calls with several reports that show one value only."""
    groups = pd.DataFrame({"value": value.to_numpy(), "call": call.to_numpy()}).groupby(
        "call", observed=True
    )["value"]
    counts = groups.agg(["nunique", "size"])
    several = counts[counts["size"] > 1]
    return float((several["nunique"] == 1).mean()) if len(several) else 0.0


def owners(sample: pd.DataFrame, *, calls: list[str], squares: list[str]) -> tuple[dict[str, str], float]:
    """Which call each column of locators belongs to, and how sure that is.

    Two columns are paired with two calls by which locator changes less with which call; where that
    tells nothing, by their order in the table.
    """
    in_order = [name for name in map(str, sample.columns) if name in calls]
    if len(calls) == 1 or len(squares) == 1:
        return _owner(sample, calls=in_order, square=squares[0])
    table = {(call, square): _keeps(sample[square], sample[call]) for call in in_order for square in squares}
    straight = [table[in_order[0], squares[0]], table[in_order[1], squares[1]]]
    crossed = [table[in_order[0], squares[1]], table[in_order[1], squares[0]]]
    gain = _mean(straight) - _mean(crossed)
    gain = 0.0 if np.isnan(gain) else gain
    order = squares if gain >= -0.1 else squares[::-1]
    sure = 0.97 if abs(gain) > 0.1 else 0.85
    return dict(zip(order, in_order, strict=True)), sure


def _mean(agreements: list[float]) -> float:
    known = [value for value in agreements if np.isfinite(value)]
    return sum(known) / len(known) if known else np.nan


def _owner(sample: pd.DataFrame, *, calls: list[str], square: str) -> tuple[dict[str, str], float]:
    if len(calls) == 1:
        return {square: calls[0]}, 0.97
    kept = [_keeps(sample[square], sample[call]) for call in calls]
    if np.isfinite(kept).all() and abs(kept[0] - kept[1]) > 0.1:
        return {square: calls[int(np.argmax(kept))]}, 0.95
    return {}, 0.0


def _keeps(square: pd.Series, call: pd.Series) -> float:
    """Share of successive reports of one call that show one square; NaN on little evidence."""
    code = pd.Series(pd.factorize(values.over_unique(square, values.squares).str[:4])[0]).astype("float64")
    agreement, n = kinds.spread(code, by=[call.astype("str")], tolerance=0)
    return agreement if n >= PAIRS else np.nan


def geometry(
    sample: pd.DataFrame, *, squares: tuple[str, str], numbers: list[str]
) -> dict[str, tuple[str, float]]:
    """Columns of numbers that are the distance or a bearing between two columns of locators.

    Returns
    -------
    dict
        Column to (meaning, agreement); meanings are `distance km`, `distance mi`, `bearing` with
        agreement the share of rows in which the stated number fits.
    """
    if not numbers:
        return {}
    ends = [locators.centre(values.over_unique(sample[square], values.squares)) for square in squares]
    size_km = (ends[0]["half_width_deg"] + ends[1]["half_width_deg"]) * 111
    known = (ends[0]["lon"].notna() & ends[1]["lon"].notna()).to_numpy()
    if known.sum() < PAIRS:
        return {}
    ahead, back, metres = Geod(ellps="WGS84").inv(
        ends[0]["lon"].to_numpy(),
        ends[0]["lat"].to_numpy(),
        ends[1]["lon"].to_numpy(),
        ends[1]["lat"].to_numpy(),
    )
    slack = np.maximum(size_km.to_numpy(), 0.01 * metres / 1e3)
    far = known & (metres > 50e3)
    found = {}
    for column in numbers:
        value = values.over_unique(sample[column], values.numbers).to_numpy()
        at = far & np.isfinite(value)
        if at.sum() < PAIRS:
            continue
        turn = np.degrees(np.arctan2(slack, metres / 1e3)) + 1
        fits = {
            "distance km": np.abs(value - metres / 1e3) <= slack,
            "distance mi": np.abs(value * 1.609344 - metres / 1e3) <= slack,
            "bearing": np.minimum(_apart(value, ahead) / turn, _apart(value, back) / turn) <= 1,
        }
        best = max(fits, key=lambda name: fits[name][at].mean())
        if fits[best][at].mean() >= 0.8:
            found[column] = (best, float(fits[best][at].mean()))
    return found


def _apart(first: np.ndarray, second: np.ndarray) -> np.ndarray:
    return np.abs((first - second + 180) % 360 - 180)
