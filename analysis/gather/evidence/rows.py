"""Rows of evidence: cells into days, numbers and words, and what cannot be used into the set-aside table."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from analysis.gather import locators, problems
from analysis.gather.cells import times, values
from analysis.gather.evidence import kinds
from analysis.gather.problems import InputError
from analysis.gather.reading import contents, delimited

MOST_OTHERS = 12  # columns of the user's own in a weather file: each is one more test (judgement)
YES = {"yes", "y", "x", "true", "ja", "j", "oui", "o", "si", "s", "1", "+"}
NO = {"no", "n", "false", "nein", "non", "0", "-", ""}
MECHANISMS = {"es": "ES", "sporadic e": "ES", "tr": "TR", "tropo": "TR", "": "TR"}
USUAL_BAND = "2m"
ZERO_C = 273.15  # definition of the degree Celsius
WARMEST_C = 150.0  # a column of temperatures beyond it is in kelvin
DATES = "write dates as YYYY-MM-DD"
LEVELS = {
    "height": "height_m",
    "pressure": "pressure_hpa",
    "temperature": "temperature_c",
    "dew_point": "dew_point_c",
    "humidity": "humidity",
}


@dataclass(frozen=True)
class Rows:
    """Usable rows of one file, and those set aside (`problems.SET_ASIDE`)."""

    good: pd.DataFrame
    set_aside: pd.DataFrame


def read(data: bytes, *, source: str) -> delimited.Table:
    """The table in a file.

    Raises
    ------
    InputError
        If it holds no row.
    """
    table = delimited.read_table(contents.as_utf8(data, source=source), source=source)
    if len(table.lines) == 0:
        raise InputError(f"{source}: holds a heading and no row; write a row for each day below it")
    return table


def forecasts(table: delimited.Table, *, source: str) -> Rows:
    """Noted forecasts: `forecast issued meant lead area band mechanism index`, days in no time zone.

    A file is one forecast and gives it its name. A file without a column of bands speaks of 2 m, one without a column of mechanisms of tropo.
    """
    cells = _named(table)
    issued, meant = (_days(cells, name) for name in ("issued", "meant"))
    good = pd.DataFrame({"issued": issued, "meant": meant})
    good["lead"] = (meant - issued).dt.days
    good["forecast"] = source.split(".")[0]
    good["area"] = _words(cells, "area")
    good["band"] = values.bands(_words(cells, "band").replace("", USUAL_BAND)).astype("str")
    said = _words(cells, "mechanism").str.lower()
    good["mechanism"] = said.map(MECHANISMS).fillna("").astype("str")
    good["index"] = values.numbers(cells["index"])
    wrong = {
        "issued, meant": good["lead"].isna(),
        "meant": good["lead"] < 0,
        "index": good["index"].isna(),
        "band": good["band"] == "",
        "mechanism": good["mechanism"] == "",
    }
    told = {
        "issued, meant": ("a forecast needs the day it was issued and the day it was meant for", DATES),
        "meant": ("the day meant lies before the day of issue", "exchange them"),
        "index": ("the index is no number", "write a number, on whatever scale the forecast has"),
        "band": ("the band is none that we know", "write it like 2m"),
        "mechanism": ("the mechanism is none that we know", "write Es or tropo"),
    }
    return _parted(good, cells, table, wrong, told, source=source)


def weather(table: delimited.Table, *, source: str) -> Rows:
    """Weather of the day: `day`, then every column of numbers or of yes and no, by its tidy name."""
    cells = _named(table)
    good = pd.DataFrame({"day": _days(cells, "day")})
    for name in cells.columns.drop("day")[:MOST_OTHERS]:
        number = _yes_or_number(cells[name])
        if number.notna().mean() >= 0.5:
            good[name] = number
    if good.shape[1] == 1:
        raise InputError(
            f"{source}: no column of numbers or of yes and no was found beside the day; add pressure, "
            "temperature, thunder or warm front"
        )
    twice = good["day"].duplicated()
    return _parted(
        good,
        cells,
        table,
        {"day": good["day"].isna(), "day again": twice & good["day"].notna()},
        {"day": ("no date that can be read", DATES), "day again": ("the day stands there twice", "keep one")},
        source=source,
    )


def field(table: delimited.Table, *, source: str) -> Rows:
    """A planetary index of the Earth's field: `time index` (UTC, 0 to 9), each for three hours or until the next.

    Thirds may be written 4.67, 5- or 4+; a value for a whole day stands for its eight spans of three hours.
    """
    cells = _named(table)
    if "time" in cells:
        time = times.moments(cells["time"])
        time = (
            time.fillna(times.dates(cells["day"]) + times.clocks(cells["time"])) if "day" in cells else time
        )
    else:
        time = times.moments(cells["day"])
    day = times.dates(cells["day"]) if "day" in cells and "time" not in cells else time.where(time.isna())
    text = cells["planetary"].str.strip()
    third = text.str[-1:].map({"+": 1 / 3, "-": -1 / 3}).fillna(0.0)
    value = values.numbers(text.str.rstrip("+-o")) + third
    good = pd.DataFrame({"time": time.fillna(day), "index": value.clip(lower=0.0)})
    wrong = {"time": good["time"].isna(), "planetary": ~value.between(-0.5, 9.0)}
    told = {
        "time": ("no date or time that can be read", "write it as YYYY-MM-DD HH:MM, in UTC"),
        "planetary": ("the index is no number from 0 to 9", "write one, thirds like 4.67 or 5-"),
    }
    found = _parted(good, cells, table, wrong, told, source=source)
    if not time.isna().all():
        return found
    spans = pd.to_timedelta(np.tile(np.arange(0, 24, 3), len(found.good)), unit="h")
    whole = found.good.loc[found.good.index.repeat(8)].reset_index(drop=True)
    return Rows(whole.assign(time=whole["time"] + spans), found.set_aside)


def soundings(table: delimited.Table, *, source: str, time: pd.Timestamp | None) -> Rows:
    """Levels of soundings: `time height_m pressure_hpa temperature_c dew_point_c humidity`, unknown NaN.

    Parameters
    ----------
    time : Timestamp or None
        When the sounding was made, for a file without a column that says so.
    """
    cells = _named(table)
    good = pd.DataFrame(index=cells.index)
    if "time" in cells or "day" in cells:
        good["time"] = times.moments(cells["time" if "time" in cells else "day"])
        if "day" in cells and "time" in cells and good["time"].isna().all():
            good["time"] = times.dates(cells["day"]) + times.clocks(cells["time"])
    elif time is None:
        raise InputError(
            f"{source}: nothing says when the sounding was made; add a column time, or a name like "
            "2024-06-12_12.csv"
        )
    else:
        good["time"] = time
    for name, column in LEVELS.items():
        good[column] = values.numbers(cells[name]) if name in cells else np.nan
    if good["temperature_c"].median() > WARMEST_C:
        good["temperature_c"] -= ZERO_C
        good["dew_point_c"] -= ZERO_C
    wrong = {
        "time": good["time"].isna(),
        "temperature": good["temperature_c"].isna(),
        "height, pressure": good["height_m"].isna() & good["pressure_hpa"].isna(),
        "humidity, dew point": good["humidity"].isna() & good["dew_point_c"].isna(),
    }
    told = {name: (f"a level needs {name}", "write it, or leave the level out") for name in wrong}
    return _parted(good, cells, table, wrong, told, source=source)


def areas(text: pd.Series) -> pd.DataFrame:
    """Centre of each area that is a locator or two with a dash between (`lon lat`), else NaN."""
    ends = text.str.upper().str.extract(r"^\s*([A-R]{2}\d{2}\w*)\s*(?:[-–>/ ]+\s*([A-R]{2}\d{2}\w*))?\s*$")
    places = [locators.centre(locators.clean(ends[n].fillna("").astype("str"))) for n in ends]
    middle = (places[0] + places[1]) / 2
    return middle.where(ends[1].notna(), places[0])[["lon", "lat"]]


def _named(table: delimited.Table) -> pd.DataFrame:
    """Cells as text under their meanings, or under their tidy names; the first of each name."""
    names = [
        kinds.meaning(name) or kinds.headers.tidy_name(name).replace(" ", "_")
        for name in map(str, table.cells)
    ]
    cells = table.cells.astype("str").set_axis(pd.Index(names, dtype="str"), axis=1)
    return cells.loc[:, ~cells.columns.duplicated() & (cells.columns != "")].reset_index(drop=True)


def _words(cells: pd.DataFrame, name: str) -> pd.Series:
    return cells[name].str.strip() if name in cells else pd.Series("", index=cells.index, dtype="str")


def _days(cells: pd.DataFrame, name: str) -> pd.Series:
    """Days of a calendar, whatever time of day stands behind them."""
    days = times.dates(cells[name])
    return days.fillna(times.moments(cells[name])).dt.floor("D").dt.tz_localize(None)


def _yes_or_number(text: pd.Series) -> pd.Series:
    """Numbers as written; yes 1 and no 0 where every cell is one of them."""
    tidy = text.str.strip().str.lower()
    if tidy.isin(YES | NO).all() and tidy.isin(YES).any():
        return tidy.isin(YES).astype(float)
    return values.numbers(text)


def _parted(good, cells, table, wrong: dict[str, pd.Series], told, *, source: str) -> Rows:
    """Usable rows, and each other row set aside for the first thing that is wrong with it."""
    left, odd = pd.Series(True, index=good.index), []
    for name, mask in wrong.items():
        rows = np.flatnonzero(mask & left)
        shown = [one for one in name.replace(" again", "").split(", ") if one.replace(" ", "_") in cells]
        found = [
            " ".join(row)
            for row in cells.iloc[rows][[one.replace(" ", "_") for one in shown]].itertuples(index=False)
        ]
        reason, repair = told[name]
        odd.append(
            problems.set_aside(
                table.lines[rows], source=source, field=name, found=found, reason=reason, repair=repair
            )
        )
        left &= ~mask
    return Rows(good[left].reset_index(drop=True), pd.concat(odd, ignore_index=True))
