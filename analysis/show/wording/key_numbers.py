"""Every number that a text of ours prints: one flat, JSON-ready dictionary made from finished tables."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

import numpy as np
import pandas as pd

from analysis.find.reach import HERE, REGION
from analysis.find.signs.kinds import BROADCAST
from analysis.fit.signs.leads import LEADS
from analysis.gather.locators import centre
from analysis.show.wording import words
from analysis.show.wording.caught import contact_numbers, credible, date_numbers, longest_numbers
from analysis.show.wording.clock import clock_numbers
from analysis.show.wording.key_chances import (
    curve_numbers,
    estimate_numbers,
    season_numbers,
    slug,
    window_numbers,
)
from analysis.show.wording.listen import listen_numbers
from analysis.show.wording.number import number, refused, series_key
from analysis.tag.paths import geodesics

BEST_OPENINGS = 4
BEST_PER_SERIES = 2
CHASED, WITNESSES = (
    ("ES", "TR"),
    3,
)  # what an opening to remember is by, and stations that it takes (judgement)
SIGN_WORDS = {
    "beacon": "a beacon",
    "weak signal": "a weak-signal mode",
}
SECTORS = ("north", "north-east", "east", "south-east", "south", "south-west", "west", "north-west")
BEAMS, BEAM_DAYS = 3, 10
MIN_DAYS = 30  # days with reports before a season is called the latest one


def key_numbers(found: Mapping[str, pd.DataFrame], *, home: str, zone: str) -> dict[str, dict[str, Any]]:
    """Collect the numbers of a review under stable names.

    Parameters
    ----------
    found : dict of DataFrame
        Finished tables by name: `spots account openings days listening daily season seasons estimates windows
        hours`, and `leads` and `indicators` where there are first signs; columns in DEVELOPERS.md. Any may be empty.
    home, zone : str
        Home locator, of which only the first four characters are ever printed; time zone of `hours`.

    Returns
    -------
    dict
        Name to `value, low, high, n, unit, text, tier, verdict, reason`. `text` is the number as
        words print it; a number that the data cannot carry has value None, empty text and a reason.
        No chance of an opening is ever stated for tier C, whatever the tables say.
    """
    spots, openings = found["spots"], found["openings"]
    numbers = _collection(spots, found["account"], home)
    latest = max(full_seasons(spots), default=None)
    if latest is not None:
        lat = centre(pd.Series([home]))["lat"].iloc[0]
        numbers["season_latest"] = number(latest, text=words.season(latest, lat=lat))
    wanted = (
        (openings["grade"] == "confirmed") & (openings["scope"] == REGION) & (openings["band"] != BROADCAST)
    )
    confirmed = _with_season(openings[wanted], spots)
    for band in words.bands(set(spots["band"].dropna().unique()) - {BROADCAST}):
        of_band = (table[table["band"] == band] for table in (spots, found["listening"], confirmed))
        numbers |= _band(*of_band, band=band)
        if words.is_vhf(band):
            numbers |= contact_numbers(spots[spots["band"] == band], band=band, latest=latest)
    numbers |= date_numbers(found["days"], found["seasons"])
    numbers |= _opening_counts(confirmed, latest) | _opening_days(found["days"], found["seasons"], latest)
    numbers |= _beams(spots[spots["opening"].isin(confirmed["opening"])], home)
    numbers |= _best_openings(confirmed[confirmed["season"] == latest])
    numbers |= curve_numbers(found["daily"], x="hour")
    numbers |= curve_numbers(found["season"], x="season_day")
    numbers |= season_numbers(found["seasons"], latest=latest)
    numbers |= estimate_numbers(found["estimates"])
    numbers |= window_numbers(found["windows"])
    numbers |= clock_numbers(found["hours"], zone=zone)
    return numbers | _first_signs(found.get("leads")) | listen_numbers(found.get("indicators"))


def full_seasons(spots: pd.DataFrame) -> list[int]:
    """Seasons with at least thirty days of reports, or all of them if none has so many."""
    days = spots.assign(date=spots["time"].dt.normalize()).groupby("season")["date"].nunique()
    full = days[days >= MIN_DAYS] if (days >= MIN_DAYS).any() else days
    return sorted(map(int, full.index))


def _collection(spots: pd.DataFrame, account: pd.DataFrame, home: str) -> dict:
    """What was collected: rows, reports, stations, bands, seasons."""
    numbers = {"home": number(text=words.square(home), unit="locator")}
    for name in ("rows_in", "kept", "set_aside", "duplicates"):
        total = int(account[name].sum())
        numbers[name if name == "rows_in" else f"rows_{name}"] = number(total, noun="row")
    numbers["sources"] = number(len(account), noun="file")
    numbers["reports"] = number(len(spots), noun="report")
    sure = spots[spots["doubt"] == ""]
    stations = pd.unique(pd.concat([sure["tx_call"], sure["rx_call"]]))
    numbers["stations"] = number(int((stations != "").sum()), noun="station")
    numbers["contacts"] = number(int((spots["kind"] == "worked").sum()), noun="contact")
    bands = words.bands(spots["band"].dropna().unique())
    vhf = [name for name in bands if words.is_vhf(name)]
    numbers["bands"] = number(len(vhf), text=words.listed(map(words.band, vhf)), unit="bands")
    on_vhf = int(spots["band"].isin(vhf).sum())
    numbers["vhf_reports"] = number(on_vhf, noun="report")
    if len(spots):
        share = on_vhf / len(spots)
        numbers["vhf_share"] = number(share, text=words.percent(share), n=len(spots), unit="share")
        for name, when in (("first_day", spots["time"].min()), ("last_day", spots["time"].max())):
            numbers[name] = number(when.date().isoformat(), text=words.date(when), unit="date")
        first, last = numbers["first_day"]["text"], numbers["last_day"]["text"]
        period = f"on {first}" if first == last else f"between {first} and {last}"
        numbers["period"] = number(text=period, unit="dates")
        numbers["seasons"] = number(len(full_seasons(spots)), noun="season")
    return numbers


def _band(spots: pd.DataFrame, listening: pd.DataFrame, confirmed: pd.DataFrame, *, band: str) -> dict:
    """One band: reports, who listened and for how long, the longest path."""
    if not words.is_vhf(band):
        return {}
    stations = int(listening["station"].nunique())
    monitors = int(listening.loc[listening["basis"] == "monitor", "station"].nunique())
    hours = listened_hours(listening)
    numbers = {
        f"{band}_band": number(text=words.band(band), unit="band"),
        f"{band}_reports": number(len(spots), noun="report"),
        f"{band}_listeners": number(stations, noun="station"),
        f"{band}_monitors": number(monitors, noun="station"),
        f"{band}_around_the_clock": number(
            monitors,
            n=stations,
            unit="stations",
            text=f"{words.count(monitors) if monitors else 'none'} of {words.counted(stations, 'station')}",
        ),
        f"{band}_listened_hours": number(hours, noun="hour")
        if stations
        else refused("nobody is known to have listened: contacts alone do not tell the hours without any"),
    }
    return numbers | longest_numbers(credible(spots, confirmed), band=band)


def listened_hours(listening: pd.DataFrame) -> float:
    """Hours during which at least one station listened, overlapping stretches counted once."""
    if listening.empty:
        return 0.0
    rows = listening.sort_values("start")
    reached = rows["end"].cummax().shift()
    start = rows["start"].where(reached.isna() | (rows["start"] > reached), reached)
    return float((rows["end"] - start).dt.total_seconds().clip(lower=0).sum() / 3600)


def _with_season(openings: pd.DataFrame, spots: pd.DataFrame) -> pd.DataFrame:
    """Openings with the season of their first spot."""
    if openings.empty:
        return openings.assign(season=pd.Series(dtype="float64"))
    first = spots.dropna(subset=["opening"]).groupby("opening")["season"].first()
    return openings.assign(season=openings["opening"].map(first))


def _opening_counts(openings: pd.DataFrame, latest: int | None) -> dict:
    """Confirmed openings of the region, in all and in the latest season."""
    numbers = {"openings": number(len(openings), noun="opening")}
    for _, rows in openings.groupby(["band", "mechanism"], observed=True):
        key = series_key(band=rows["band"].iloc[0], mechanism=rows["mechanism"].iloc[0])
        name = words.series(band_name=rows["band"].iloc[0], mechanism=rows["mechanism"].iloc[0])
        numbers[f"{key}_called"] = number(text=name, unit="name")
        now = rows[rows["season"] == latest]
        for name, part in (("", rows), ("_latest", now)):
            numbers[f"{key}_openings{name}"] = number(len(part), noun="opening")
    return numbers


def _opening_days(days: pd.DataFrame, seasons: pd.DataFrame, latest: int | None) -> dict:
    """Opening days over any ground in the scope that the seasons are told in, and in the region beside it."""
    numbers = {}
    told = seasons.drop_duplicates(["band", "mechanism"]).set_index(["band", "mechanism"])["scope"]
    for (band, mechanism, scope), rows in days[days["path_type"] == "all"].groupby(
        ["band", "mechanism", "scope"], observed=True
    ):
        ends = ["_in_region"] * (scope == REGION) + [""] * (told.get((band, mechanism), HERE) == scope)
        key = series_key(band=band, mechanism=mechanism)  # type: ignore[arg-type]
        for name, part in (("", rows), ("_latest", rows[rows["season"] == latest])):
            n, of = int(part["open"].sum()), int(part["listened"].sum())
            for end in ends:
                numbers[f"{key}_opening_days{name}{end}"] = number(
                    n,
                    n=of,
                    unit="days",
                    text=f"{words.counted(n, 'day')} {words.SCOPES[scope]}",  # type: ignore[index]
                )
    return numbers


def _beams(spots: pd.DataFrame, home: str) -> dict:
    """Headings from home on which openings were carried on most days, for each band and mechanism.

    Where home itself received, the path's own bearing counts; for sporadic E else the direction of
    the midpoint, since that is where the patch lies. Tropo between others tells home nothing.
    """
    numbers = {}
    for _, rows in spots.groupby(["band", "mechanism"], observed=True):
        own = rows[rows["rx_locator"].str[:4] == words.square(home)]
        if own["time"].dt.normalize().nunique() >= BEAM_DAYS:
            rows = own.assign(heading=own["bearing_deg"])
        elif rows["mechanism"].iloc[0] == "ES":
            rows = rows.assign(heading=_toward_midpoints(rows, home))
        else:
            continue
        days = _days_by_sector(rows.dropna(subset="heading"))
        text = words.listed(f"{name} ({words.counted(n, 'day')})" for name, n in days.head(BEAMS).items())
        key = series_key(band=rows["band"].iloc[0], mechanism=rows["mechanism"].iloc[0])
        numbers[f"{key}_beam"] = number(
            text=text, n=int(rows["time"].dt.normalize().nunique()), unit="heading"
        )
    return numbers


def _days_by_sector(rows: pd.DataFrame) -> pd.Series:
    """Days on which each eighth of the compass brought something, the best first."""
    sector = (np.round(rows["heading"] / 45) % 8).astype(int)
    table = pd.DataFrame({"sector": np.take(SECTORS, sector), "date": rows["time"].dt.normalize()})
    return table.groupby("sector")["date"].nunique().sort_values(ascending=False, kind="stable")


def _toward_midpoints(rows: pd.DataFrame, home: str) -> np.ndarray:
    place = centre(pd.Series([home])).iloc[0]
    ends = {"lon2": rows["mid_lon"].to_numpy(), "lat2": rows["mid_lat"].to_numpy()}
    return geodesics(lon1=place["lon"], lat1=place["lat"], **ends)["bearing_deg"].to_numpy()


def _best_openings(openings: pd.DataFrame) -> dict:
    """The openings that were rarest for their stations, a few of each series so that none crowds out the rest."""
    chased = openings["mechanism"].isin(CHASED) & (openings["n_stations"] >= WITNESSES)
    ranked = openings[chased].sort_values(["unusual", "max_km"], ascending=False)
    per_series = ranked.groupby(["band", "mechanism"], observed=True).cumcount()
    best = ranked[(per_series < BEST_PER_SERIES).to_numpy()].head(BEST_OPENINGS).sort_values("start")
    numbers = {"best": number(len(best), noun="opening")}
    for place, row in enumerate(best.to_dict("records"), start=1):
        name = words.series(band_name=row["band"], mechanism=row["mechanism"], path_type=row["path_type"])
        numbers |= {
            f"best_{place}_name": number(text=name, unit="name"),
            f"best_{place}_when": number(row["start"].isoformat(), text=opening_span(row), unit="UTC"),
            f"best_{place}_km": number(
                float(row["max_km"]), text=f"{words.count(row['max_km'])} km", unit="km"
            ),
            f"best_{place}_where": number(text=row["joined"], unit="locators"),
            f"best_{place}_pair": number(text=re.split(r", | and ", row["joined"])[0], unit="locators"),
            f"best_{place}_stations": number(int(row["n_stations"]), noun="station"),
        }
    return numbers


def opening_span(row) -> str:
    """When an opening began and ended, in UTC, with the ends that nobody could have seen marked so."""
    start = ("from before " if row["start_censored"] else "") + row["start"].strftime("%H:%M")
    end = ("after " if row["end_censored"] else "") + row["end"].strftime("%H:%M")
    next_day = "" if row["start"].date() == row["end"].date() else " the next day"
    return f"{words.date(row['start'])}, {start} to {end} UTC{next_day}"


def _first_signs(leads: pd.DataFrame | None) -> dict:
    """By how much more than chance each sign came before the first voice report, per series."""
    if leads is None:
        return {}
    numbers = {}
    for row in leads[leads["scope"] == REGION].to_dict("records"):
        key = f"{series_key(band=row['band'], mechanism=row['mechanism'])}_sign_{slug(row['sign'])}"
        name = words.series(band_name=row["band"], mechanism=row["mechanism"])
        numbers[f"{key}_series"] = number(text=name, unit="name")
        numbers[f"{key}_name"] = number(text=SIGN_WORDS.get(row["sign"], row["sign"]), unit="name")
        numbers[f"{key}_both"] = number(int(row["n_both"]), noun="opening")
        numbers[f"{key}_lead"] = _lead(row)
    return numbers


def _lead(row) -> dict:
    """Minutes beyond chance; a lead that chance explains has no number to print."""
    if row["verdict"] != LEADS:
        return refused(row["reason"], unit="min") | {"n": int(row["n_both"])}
    ends = {"low": row["low_min"], "high": row["high_min"]}
    text = f"{row['excess_min']:.0f} minutes ({row['low_min']:.0f} to {row['high_min']:.0f})"
    return number(row["excess_min"], n=int(row["n_both"]), unit="min", text=text, **ends)
