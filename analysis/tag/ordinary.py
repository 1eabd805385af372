"""How far a station hears on an ordinary day, so that a lift is told from a good station.

Scatter carries the signals of well-equipped stations over some hundred kilometres on any day. Tropo is an
opening only beyond what both ends of a path bridge anyway: a contest's start is none.
"""

from __future__ import annotations

import numpy as np
import pandas as pd

from analysis.tag import sun

EVERYDAY = ("LOS", "TR")  # what may come by scatter; the others need something overhead
# Ordinary range of a station nobody knows yet [km]: what a few hundred watts and a long antenna work by
# scatter; common practice, no source.
USUAL_KM = {"6m": 250.0, "5m": 250.0, "4m": 250.0, "FM": 250.0, "2m": 350.0, "1.25m": 350.0, "70cm": 300.0}
ELSEWHERE_KM = 250.0  # on other bands (judgement)
LEAST_KM = 150.0  # no range is shorter: two ordinary stations over flat ground (judgement)
# Nobody's scatter reaches farther on ordinary days than half as far again; where aircraft come by every day
# some of them are taken for tropo, and would widen the range without end (judgement).
MOST = 1.5
# An ordinary day's farthest signal lies above its median at most by so many times what the lower tenth lies
# below it: nearly all days, had there been no lift. The lower half hardly feels lifts, which come on up to
# a third of the days. Judgement: 1.0 and 2.0 move the range by a tenth.
ABOVE = 1.5
OWN_DAYS, REGION_DAYS = (
    10.0,
    100.0,
)  # days at which own experience weighs as much as the region's, and that as `USUAL_KM`
# People come on because the band lifts. Stations that hear something on most days of a long time tell which
# days those were, and only the other days of everybody else are ordinary ones (judgement; half as many or
# twice as many days change nothing on the demo).
STEADY_DAYS, STEADY_SHARE = 60, 0.5
LEAST_DAYS = 5  # ordinary days without which a station's own experience is not asked
COLUMNS = ["station", "band", "day", "km"]


def daily_reach(spots: pd.DataFrame) -> pd.DataFrame:
    """Farthest everyday signal that each station heard or worked on each day on which it heard anything.

    Senders tell nothing: one that is heard only when the band lifts would have lifts for its ordinary days.

    Parameters
    ----------
    spots : DataFrame
        `time band rx_call distance_km mechanism doubt`.

    Returns
    -------
    DataFrame
        `station band day km`, days since 1970, 0 km on a day without an everyday signal; tables of several
        batches are added up by the largest.
    """
    everyday = spots["mechanism"].astype("str").isin(EVERYDAY) & (spots["doubt"] == "")
    table = pd.DataFrame(
        {
            "station": spots["rx_call"].astype("str").to_numpy(),
            "band": spots["band"].astype("str").to_numpy(),
            "day": np.floor(sun.unix_seconds(spots["time"]) / 86400.0).astype("int64"),
            "km": spots["distance_km"].where(everyday).fillna(0.0).to_numpy("float64"),
        }
    )
    return table[table["station"] != ""].groupby(COLUMNS[:3], as_index=False)["km"].max()  # type: ignore[return-value]


def ordinary_ranges(reach: pd.DataFrame) -> pd.DataFrame:
    """How far each station hears and is heard on ordinary days.

    Parameters
    ----------
    reach : DataFrame
        What `daily_reach` returns.

    Returns
    -------
    DataFrame
        `station band ordinary_km n_days`. A station of few days is drawn to the median station of its
        band, and that to `USUAL_KM`.
    """
    if reach.empty:
        return pd.DataFrame({"station": [], "band": [], "ordinary_km": [], "n_days": []}).astype(
            {"station": "str", "band": "str"}
        )
    days = _own(reach)
    steady = _steady(reach, days)
    lifted = _lifted(reach[steady], days)
    quiet = _own(reach[steady | ~_on(reach, lifted)])
    quiet = quiet[quiet["n_days"] >= LEAST_DAYS].set_index(["station", "band"])
    keys = pd.MultiIndex.from_frame(days[["station", "band"]])
    for name in ("own_km", "n_days"):
        days[name] = quiet[name].reindex(keys).fillna(days.set_index(keys)[name]).to_numpy()
    region = days.groupby("band")["own_km"].median()
    total = days.groupby("band")["n_days"].sum()
    usual = pd.Series(USUAL_KM).reindex(region.index).fillna(ELSEWHERE_KM)
    region = _drawn(region, usual, n=total, half=REGION_DAYS)
    own = _drawn(days["own_km"], days["band"].map(region), n=days["n_days"], half=OWN_DAYS)
    own = own.clip(lower=LEAST_KM, upper=MOST * days["band"].map(usual))
    return days[["station", "band"]].assign(ordinary_km=own, n_days=days["n_days"])


def ordinary_km(spots: pd.DataFrame, ranges: pd.DataFrame) -> np.ndarray:
    """The longer ordinary range of the two ends of every path [km]; NaN where the path's length is unknown."""
    table = ranges.set_index(["station", "band"])["ordinary_km"]
    band, bands = pd.factorize(spots["band"])
    known_as = [str(name) for name in bands]
    ends = []
    for call in ("rx_call", "tx_call"):  # a station and a band once, however many spots they share
        station, stations = pd.factorize(spots[call])
        keys = pd.MultiIndex.from_product([np.asarray(stations, dtype=object), known_as])
        km = table.reindex(keys).to_numpy().reshape(len(stations), len(known_as))
        ends.append(np.where((station >= 0) & (band >= 0), km[station, band], np.nan))
    usual = np.array([*(USUAL_KM.get(name, ELSEWHERE_KM) for name in known_as), ELSEWHERE_KM])[band]
    longest = np.fmax(*ends)
    known = spots["distance_km"].notna().to_numpy()
    return np.where(known, np.where(np.isnan(longest), usual, longest), np.nan)


def within(spots: pd.DataFrame) -> pd.Series:
    """Mask of tropo that its stations bridge on ordinary days, as far as the locators' size can tell.

    Parameters
    ----------
    spots : DataFrame
        `mechanism distance_km distance_err_km ordinary_km`; a table without the last knows no ordinary range.
    """
    if "ordinary_km" not in spots:
        return pd.Series(False, index=spots.index)
    surely = spots["distance_km"] - spots["distance_err_km"].fillna(0.0)
    return (spots["mechanism"] == "TR") & (surely <= spots["ordinary_km"])


def _own(reach: pd.DataFrame) -> pd.DataFrame:
    """Each station's own upper edge of ordinary days, and how many days it rests on."""
    km = reach.groupby(["station", "band"])["km"]
    low, middle = km.quantile(0.1), km.quantile(0.5)
    days = pd.DataFrame({"own_km": middle + ABOVE * (middle - low), "n_days": km.size()})
    return days.reset_index()


def _steady(reach: pd.DataFrame, days: pd.DataFrame) -> np.ndarray:
    """Whether each day is one of a station that heard something on most days of a long time."""
    day = reach.groupby(["station", "band"])["day"]
    span = (day.max() - day.min() + 1).to_numpy()
    able = days[(days["n_days"] >= STEADY_DAYS) & (days["n_days"] >= STEADY_SHARE * span)]
    return _on(reach, able, by=("station", "band"))


def _lifted(reach: pd.DataFrame, days: pd.DataFrame) -> pd.DataFrame:
    """Days of each band on which a steady station reached beyond its own ordinary days."""
    own = reach.merge(days, on=["station", "band"], validate="many_to_one")
    beyond = own["km"] > own["own_km"].clip(lower=LEAST_KM)
    return own.loc[beyond, ["band", "day"]].drop_duplicates()


def _on(reach: pd.DataFrame, table: pd.DataFrame, *, by: tuple[str, ...] = ("band", "day")) -> np.ndarray:
    """Mask of the rows whose keys stand in a table."""
    keys = list(by)
    return pd.MultiIndex.from_frame(reach[keys]).isin(pd.MultiIndex.from_frame(table[keys]))


def _drawn(own: pd.Series, other: pd.Series, *, n: pd.Series, half: float) -> pd.Series:
    """Own experience of `n` days and that of others, weighed."""
    weight = n / (n + half)
    return weight * own + (1 - weight) * other
