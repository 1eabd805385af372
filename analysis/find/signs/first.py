"""First signs: what was reported before the first voice of an opening, beside what chance would bring.

Where FT8 is reported eight times as often as voice it comes first eight times in nine, although no mode is
earlier than another. So each lead stands beside the lead that the same reports would have if they had
fallen in any other order, once with every report a ticket in the draw, once with every operator one.
Both expectations are exact: no draw is made.
"""

from __future__ import annotations

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy.special import gammaln

from analysis.find import intervals
from analysis.find.reach import HERE, REGION
from analysis.find.signs.kinds import SIGNS, VOICE, kinds

REPORTS, OPERATORS = AGAINST = ("same reports", "same operators")
SCOPES = {REGION: "opening", HERE: "here"}  # column of the spots that numbers the openings
ABOUT = ["scope", "opening", "band", "mechanism", "path_type", "start", "season"]
COLUMNS = [*ABOUT, "sign", "against", "n", "lead_min", "expected_min", "first", "expected_first"]


def first_signs(
    spots: pd.DataFrame, openings: pd.DataFrame, *, beacons: pd.DataFrame | None = None
) -> pd.DataFrame:
    """How long before the first voice report each sign came in each opening, and how long by chance.

    Parameters
    ----------
    spots : DataFrame
        Spots with their `opening` and, where home is known, `here`; `season`.
    openings : DataFrame
        `scope opening band mechanism path_type start grade`; only confirmed ones are looked at.
    beacons : DataFrame, optional
        `call …`; calls that end in /B are beacons anyway.

    Returns
    -------
    DataFrame
        One row per opening, sign reported in it (`SIGNS`) and chance it is held against:
        `scope opening band mechanism path_type start season sign against n lead_min expected_min first
        expected_first`. `against` is "same reports" (every report as likely to be the first) or "same
        operators" (each receiver counts once for a sign, at its first report); `n` is how many there
        are. `lead_min` and `expected_min` are minutes to the first voice or CW report, as they were and
        as any order would bring on average, NaN without voice. `first` is the sign's share of what was
        reported in the first minute, `expected_first` its share of all.
    """
    found = [
        _of_scope(spots, openings, scope=scope, beacons=beacons) for scope in SCOPES if SCOPES[scope] in spots
    ]
    return pd.concat(found, ignore_index=True)


def _of_scope(spots: pd.DataFrame, openings: pd.DataFrame, *, scope: str, beacons) -> pd.DataFrame:
    """Signs of one scope's openings."""
    reports = opening_reports(spots, openings, scope=scope, beacons=beacons)
    once = reports.groupby(["opening", "sign", "operator"], as_index=False)["minute"].min()
    parts = [
        _beside_chance(items).assign(against=against)  # type: ignore[arg-type]
        for against, items in ((REPORTS, reports), (OPERATORS, once))
    ]
    table = pd.concat(parts, ignore_index=True)
    season = reports.groupby("opening")["season"].first()
    about = openings.astype({"opening": "int64"})[[name for name in ABOUT if name != "season"]]
    table = table[table["sign"].isin(SIGNS)].merge(about, on="opening")
    table["season"] = table["opening"].map(season)
    table["sign"] = pd.Categorical(table["sign"], SIGNS)
    table = table.sort_values(["opening", "sign", "against"], ascending=[True, True, False])
    return table.astype({"sign": "str"})[COLUMNS]


def opening_reports(
    spots: pd.DataFrame, openings: pd.DataFrame, *, scope: str, beacons: pd.DataFrame | None = None
) -> pd.DataFrame:
    """Reports of a scope's confirmed openings: `opening season sign operator minute snr_db`."""
    confirmed = openings.loc[(openings["grade"] == "confirmed") & (openings["scope"] == scope), "opening"]
    number = spots[SCOPES[scope]]
    rows = spots[number.isin(confirmed)]
    return pd.DataFrame(
        {
            "opening": number[rows.index].astype("int64"),
            "season": rows["season"],
            "sign": kinds(rows, beacons=beacons),
            "operator": rows["rx_call"].astype("str"),
            "minute": intervals.minutes(rows["time"]),
            "snr_db": rows["snr_db"],
        }
    )


def _beside_chance(items: pd.DataFrame) -> pd.DataFrame:
    """Leads and shares of each opening's signs, as they were and over all orders of its items.

    A lead is held against the orders of the sign's and voice's own items: what else was reported, and
    when, is none of their business.
    """
    since = items["minute"] - items.groupby("opening")["minute"].transform("min")
    signs = items.groupby(["opening", "sign"]).size().rename("n")
    starts = items[since == 0].groupby(["opening", "sign"]).size()
    table = pd.DataFrame(
        {
            "n": signs,
            "first": (starts / starts.groupby("opening").transform("sum")).reindex(signs.index).fillna(0.0),
            "expected_first": signs / signs.groupby("opening").transform("sum"),
        }
    )
    leads = [_leads(items[items["sign"].isin([sign, VOICE])], sign) for sign in SIGNS if sign != VOICE]
    return table.join(pd.concat(leads)).reset_index()


def _leads(pair: pd.DataFrame, sign: str) -> pd.DataFrame:
    """Minutes from a sign's first item to voice's, as seen and over all orders of the two kinds' items."""
    firsts = pair.groupby(["opening", "sign"])["minute"].agg(n="size", seen="min").reset_index()
    firsts["expected"] = _expected_first(pair, firsts)
    own, voice = (firsts[firsts["sign"] == one].set_index("opening") for one in (sign, VOICE))
    found = pd.DataFrame(
        {
            "lead_min": voice["seen"] - own["seen"],
            "expected_min": voice["expected"] - own["expected"],
        }
    ).reindex(own.index)
    return found.set_index(
        pd.MultiIndex.from_product([[sign], found.index]).swaplevel(0, 1).set_names(["opening", "sign"])
    )


def _expected_first(items: pd.DataFrame, firsts: pd.DataFrame) -> NDArray:
    """Minute at which a kind's first item stands on average over all orders, a row of `firsts` each."""
    ordered = items.sort_values(["opening", "minute"])[["opening", "minute"]]
    ordered["place"] = ordered.groupby("opening").cumcount()
    ordered["of"] = ordered.groupby("opening")["minute"].transform("size")
    pairs = firsts[["opening", "n"]].reset_index().merge(ordered, on="opening")
    chance = first_at(pairs["place"].to_numpy(), n=pairs["n"].to_numpy(), of=pairs["of"].to_numpy())
    return (chance * pairs["minute"]).groupby(pairs["index"]).sum().to_numpy()


def first_at(place: NDArray, *, n: NDArray, of: NDArray) -> NDArray:
    """Chance that the first of `n` items among `of` stands at a place (from 0) when all orders are alike."""
    after = of - place - 1
    possible = after >= n - 1
    rest = np.where(possible, after - n + 1, 0)
    log = np.log(n) + gammaln(after + 1) + gammaln(of - n + 1) - gammaln(rest + 1) - gammaln(of + 1)
    return np.where(possible, np.exp(log), 0.0)
