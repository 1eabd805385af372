"""What was caught, whoever was listening: contacts, squares, longest credible paths, dates of openings."""

from __future__ import annotations

from typing import Any

import pandas as pd

from analysis.show.wording import words
from analysis.show.wording.number import number

FARTHEST = 5  # paths of a band that are told (judgement: a line of a newsletter)
MODES = 4  # of a band, the most used (judgement: a line of a newsletter)
MOST_DATES = 6  # of a series, those that reached farthest (judgement: two lines of a newsletter)


def credible(spots: pd.DataFrame, confirmed: pd.DataFrame) -> pd.DataFrame:
    """Reports whose distance may be told as a feat: no doubt about them, and a mechanism that explains it.

    One far report alone is a wrong locator more often than a record: what a confirmed opening carried
    comes first, and stands alone where there is any.
    """
    explained = spots[(spots["doubt"] == "") & (spots["mechanism"] != "undetermined")]
    carried = explained[explained["opening"].isin(confirmed["opening"])]
    return (explained if carried.empty else carried).dropna(subset="distance_km")


def longest_numbers(trusted: pd.DataFrame, *, band: str) -> dict[str, dict[str, Any]]:
    """The longest path of a band, and the farthest other squares; `trusted` as from `credible`."""
    if trusted.empty:
        return {}
    ranked = trusted.sort_values("distance_km", ascending=False, kind="stable")
    row = ranked.iloc[0]
    squares = f"{words.square(row['tx_locator'])} to {words.square(row['rx_locator'])}"
    day = row["time"].date().isoformat()
    found = {
        f"{band}_longest": number(row["distance_km"], text=_km(row), unit="km"),
        f"{band}_longest_squares": number(text=squares, unit="locators"),
        f"{band}_longest_day": number(day, text=words.date(row["time"]), unit="date"),
        f"{band}_longest_how": number(text=_how(row), unit="mechanism"),
    }
    ranked = ranked[(ranked["mechanism"] != "LOS") & (ranked["distance_km"] > 0)]
    far = ranked[~ranked["tx_locator"].map(words.square).duplicated()].head(FARTHEST).to_dict("records")
    for place, one in enumerate(far, start=1):
        ends = f"{words.square(one['tx_locator'])} to {words.square(one['rx_locator'])}"
        text = f"{_km(one)}, {ends}, on {words.date(one['time'])} by {_how(one)}"
        found[f"{band}_far_{place}"] = number(one["distance_km"], text=text, unit="km")
    return found


def _km(row) -> str:
    return f"{words.count(row['distance_km'])} km"


def _how(row) -> str:
    return words.MECHANISMS.get(row["mechanism"], row["mechanism"])


def contact_numbers(spots: pd.DataFrame, *, band: str, latest: int | None) -> dict[str, dict[str, Any]]:
    """A band's contacts: how many, on which days, in which modes, with how many squares, which of them new.

    Parameters
    ----------
    spots : DataFrame
        Tagged spots of one band.
    latest : int or None
        The latest season.
    """
    rows = spots[(spots["kind"] == "worked") & (spots["doubt"] == "")]
    if rows.empty:
        return {}
    by_day = rows.groupby(rows["time"].dt.normalize()).size()
    modes = rows["mode"].astype(str).value_counts()
    modes = modes[(modes > 0) & (modes.index != "")].head(MODES)
    busiest = pd.Timestamp(str(by_day.idxmax()))
    best = f"{words.date(busiest)} with {words.counted(by_day.max(), 'contact')}"
    found = {
        f"{band}_worked": number(len(rows), noun="contact"),
        f"{band}_worked_days": number(len(by_day), noun="day"),
        f"{band}_worked_best": number(busiest.date().isoformat(), text=best, unit="date"),
        f"{band}_worked_modes": number(
            text=words.listed(f"{mode} ({words.counted(n, 'contact')})" for mode, n in modes.items()),
            unit="modes",
        ),
    }
    square = rows["tx_locator"].map(words.square)
    seen = rows.assign(square=square)[square != ""].groupby("square")["season"].min()
    if len(seen):
        found[f"{band}_squares"] = number(len(seen), noun="square")
        if seen.min() < rows["season"].max():
            found[f"{band}_new_squares"] = number(int((seen == latest).sum()), noun="square")
    return found


def date_numbers(days: pd.DataFrame, seasons: pd.DataFrame) -> dict[str, dict[str, Any]]:
    """Dates of the openings of every band and mechanism of which no chance is stated.

    Parameters
    ----------
    days : DataFrame
        The table of days.
    seasons : DataFrame
        `band mechanism path_type scope tier verdict` and more, of every series.
    """
    found = {}
    stated = seasons[(seasons["verdict"] != "refuse") & (seasons["tier"] != "C")]
    told = set(stated[["band", "mechanism"]].itertuples(index=False, name=None))
    for (band, mechanism), rows in days[days["open"] & (days["path_type"] == "all")].groupby(
        ["band", "mechanism"], observed=True
    ):
        if (band, mechanism) in told or not words.is_vhf(str(band)):
            continue
        near = rows[rows["scope"] == "here"]
        own = (near if len(near) else rows[rows["scope"] == "region"]).drop_duplicates("day")
        if own.empty:
            continue
        far = own.sort_values("max_km", ascending=False, kind="stable").head(MOST_DATES).sort_values("day")
        text = (
            f"{words.listed(map(words.date, far['day']))}, {words.SCOPES['here' if len(near) else 'region']}"
        )
        if len(far) < len(own):
            text += f" (the farthest {len(far)} of {len(own)} days)"
        key = f"{band}_{str(mechanism).lower()}"
        found[f"{key}_dates"] = number(len(own), text=text, unit="dates")
        name = words.series(band_name=str(band), mechanism=str(mechanism))
        found[f"{key}_dates_of"] = number(text=name, unit="name")
    return found
