"""A table whose columns are known, as spots, as a beacon list or as declared listening hours."""

from __future__ import annotations

import re
from dataclasses import replace

import numpy as np
import pandas as pd

from analysis.gather import locators, problems
from analysis.gather.cells import kinds, times, values, years
from analysis.gather.columns import headers
from analysis.gather.columns.guesses import Columns
from analysis.gather.problems import InputError, NothingOfOurs
from analysis.gather.reading.delimited import Table
from analysis.gather.reading.records import RECORDS

OTHER_WIDTH = "not the {} cells of the table"
AS_WRITTEN = {"band", "mode", "tx_call", "rx_call", "tx_locator", "rx_locator", "prop_mode"}
AS_WRITTEN |= {"tx_lat", "tx_lon", "rx_lat", "rx_lon"}
WATTS = {"W": 1.0, "mW": 1e-3, "kW": 1e3}  # definition
NO_OBJECT = "the line is no JSON object"

FILE_DATE = r"(?<![0-9])(20[0-9][0-9])[-_.]?(0[1-9]|1[0-2])[-_.]?(0[1-9]|[12][0-9]|3[01])(?![0-9])"


def with_year(table: Table, *, source: str) -> Table:
    """The table with its days completed, where that is unambiguous."""
    year = years.named_year(table.headings, source=source)
    if not year:
        return table
    cells = table.cells.copy()
    for name in cells:
        unique = pd.Series(cells[name].astype("str").iloc[:200].unique(), dtype="str")
        if years.yearless(unique[unique != ""]).mean() >= 0.85:
            cells[name] = values.over_unique(cells[name], lambda text: years.completed(text, year=year))
    return replace(table, cells=cells)


def kind_of_table(columns: Columns) -> str:
    """`listening`, `beacons`, `spots`, or "" for a table that is none of them."""
    have = set(columns.meaning.values())
    if {"start", "end"} <= have:
        return "listening"
    calls = have & {"tx_call", "rx_call"}
    if calls and not have & {"time", "date", "clock"}:
        report = len(calls) > 1 or "snr_db" in have  # of somebody heard, whose time cannot be read
        return "spots" if report else "beacons" if have & {"tx_locator", "rx_locator"} else ""
    return "spots" if calls else ""


def refuse(columns: Columns, *, source: str) -> None:
    """InputError where a table of spots lacks calls, times or locators altogether."""
    have = set(columns.meaning.values())
    for wanted, what in (
        ({"tx_call", "rx_call"}, "call signs"),
        ({"time", "date", "clock", "start"}, "dates and times"),
        ({"tx_locator", "rx_locator", "tx_lat"}, "locators"),
    ):
        if not have & wanted:
            fault = NothingOfOurs if what == "call signs" else InputError
            raise fault(
                f"{source}: no column of {what} was found; add it, or name it in a header line (time, freq, "
                "tx call, tx locator, rx call, rx locator ...)"
            )


def odd_rows(table: Table, *, source: str) -> pd.DataFrame:
    """Rows with too many cells or too few, as rows of the set-aside table."""
    return problems.set_aside(
        table.odd["line"],
        source=source,
        field="row",
        found=table.odd["found"].to_numpy(dtype="object"),
        reason=NO_OBJECT if table.delimiter == RECORDS else OTHER_WIDTH.format(table.cells.shape[1]),
        repair=(
            "export the line again"
            if table.delimiter == RECORDS
            else "put quotes around a cell that holds the separator, or a dash into an empty one"
        ),
    )


def spot_rows(table: Table, columns: Columns, *, source: str) -> pd.DataFrame:
    """Raw rows for `checks.checked` from a table of spots."""
    column_of = {meaning: column for column, meaning in columns.meaning.items()}
    raw = pd.DataFrame({"source_row": table.lines})
    for meaning in AS_WRITTEN & column_of.keys():
        raw[meaning] = table.cells[column_of[meaning]].array
    if "freq" in column_of:
        raw["freq_mhz"] = _frequencies(table.cells[column_of["freq"]], columns)
    if "snr_db" in column_of:
        raw["snr_db"] = values.over_unique(table.cells[column_of["snr_db"]], values.numbers)
    if "tx_power" in column_of:
        raw["tx_power_dbm"] = power_dbm(table.cells[column_of["tx_power"]], unit=columns.unit["tx_power"])
    for meaning, text in _own_station(table, have=column_of.keys()).items():
        raw[meaning] = values.constant(text, index=raw.index)
    raw["kind"] = _kind(table, column_of, usual=columns.unit.get("kind", "heard"))
    if "time" in column_of:
        raw["moment"] = table.cells[column_of["time"]].array
        raw["time"] = times.moments(raw["moment"], day_first=_day_first(columns))
    elif "clock" in column_of:
        raw["clock"] = table.cells[column_of["clock"]].array
        raw["time"] = _days(table, column_of, columns, source=source) + times.clocks(raw["clock"])
    elif "date" in column_of:
        raw["date"] = table.cells[column_of["date"]].array
    if "time" in raw:
        raw["time"] = _in_utc(raw["time"], columns)
    return raw


def _in_utc(time: pd.Series, columns: Columns) -> pd.Series:
    """Times as written, shifted only if a person has said in which zone they are."""
    zone = columns.unit.get("zone", "UTC")
    return time if zone == "UTC" else times.from_local(time, zone=zone)


def _own_station(table: Table, *, have) -> dict[str, str]:
    """The own call and locator that headings name (`own call: Q1OWN`), for the side that no column holds."""
    told: dict[str, set[str]] = {"call": set(), "locator": set()}
    for piece in re.split(r"[,;|\t\n]", "\n".join(table.headings["text"].astype("str"))):
        name, _, text = piece.strip().replace(":", " ").replace("=", " ").rpartition(" ")
        thing = {"station": "call"}.get(meaning := headers.named_meaning(name), meaning.rpartition("_")[2])
        if meaning[:3] != "tx_" and thing in told:
            form = locators.PATTERN if thing == "locator" else kinds.TYPICAL_CALL
            told[thing] |= {text.upper()} if re.fullmatch(form, text.upper()) else set()
    side = "rx" if "tx_call" in have or "rx_call" not in have else "tx"
    return {
        f"{side}_{thing}": next(iter(texts))
        for thing, texts in told.items()
        if len(texts) == 1 and f"{side}_{thing}" not in have and f"{side}_call" not in have
    }


def _frequencies(cells: pd.Series, columns: Columns) -> pd.Series:
    unit = columns.unit.get("freq", "MHz")
    return values.over_unique(cells, lambda text: kinds.frequencies(text, unit=unit))


def _kind(table: Table, column_of: dict[str, str], *, usual: str) -> pd.Series:
    if "kind" not in column_of:
        return values.constant(usual, index=pd.RangeIndex(len(table.lines)))
    return values.over_unique(
        table.cells[column_of["kind"]],
        lambda text: text.str.strip().str.lower().eq("worked").map({True: "worked", False: "heard"}),
    ).array


def power_dbm(cells: pd.Series, *, unit: str) -> pd.Series:
    """Power in dBm from cells that name their unit or else are in `unit` (W, mW, kW, dBm); 0 W is unknown."""
    in_watts = values.over_unique(
        cells, lambda text: values.measured(text, WATTS | {"dBm": np.nan}, usual=unit)
    )
    in_dbm = values.over_unique(
        cells, lambda text: values.measured(text, {"dBm": 1.0} | dict.fromkeys(WATTS, np.nan), usual=unit)
    )
    return in_dbm.fillna(values.dbm(in_watts))


def _day_first(columns: Columns) -> bool | None:
    return {"day first": True, "month first": False}.get(columns.unit.get("date_order", ""))


def _days(table: Table, column_of: dict[str, str], columns: Columns, *, source: str) -> pd.Series:
    """Date of each row: its own, that of the heading above it, or that in the file's name."""
    if "date" in column_of:
        return times.dates(table.cells[column_of["date"]], day_first=_day_first(columns)).reset_index(
            drop=True
        )
    heading = _heading_dates(table.headings, source=source)
    if len(heading):
        place = np.searchsorted(heading["line"].to_numpy(), table.lines) - 1
        days = heading["day"].reset_index(drop=True).reindex(place).reset_index(drop=True)
    else:
        named = re.findall(FILE_DATE, source)
        day = "-".join(named[0]) if len(named) == 1 else ""
        place = np.zeros(len(table.lines), dtype=np.intp)
        days = times.dates(pd.Series([day] * len(table.lines), dtype="str"))
    clock = times.clocks(table.cells[column_of["clock"]]).reset_index(drop=True)
    return days.where(~_past_midnight(clock, place))


def _heading_dates(headings: pd.DataFrame, *, source: str) -> pd.DataFrame:
    """Headings that are a date (`line day`), the year taken from the file's name where it names one year."""
    day = times.dates(
        headings["text"].astype("str").str.replace(r"(?i)^\s*(?:date|utc|day)\s*:?\s*", "", regex=True)
    )
    year = years.named_year(headings, source=source)
    if year and day.isna().any():
        day = day.fillna(times.dates(years.completed(headings["text"].astype("str"), year=year)))
    return pd.DataFrame({"line": headings["line"], "day": day})[day.notna()].reset_index(drop=True)


def _past_midnight(clock: pd.Series, section: np.ndarray) -> pd.Series:
    """Rows of a one-day list after its times of day have fallen back: the heading's date is not theirs.

    A list that is kept newest first falls all the way; it has no such place.
    """
    step = clock.dt.total_seconds().groupby(section).diff()
    rising = np.sign(step).groupby(section).transform("sum") >= 0
    fallen = ((step < 0) & rising).groupby(section).cumsum() > 0
    return fallen


def beacon_rows(table: Table, columns: Columns, *, source: str) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Beacons (`call locator freq_mhz`) and rows set aside."""
    column_of = {
        meaning[3:] if meaning[:2] in ("tx", "rx") else meaning: c for c, meaning in columns.meaning.items()
    }
    raw = table.cells.reset_index(drop=True)
    beacons = pd.DataFrame({"call": values.over_unique(raw[column_of["call"]], values.calls)})
    beacons["locator"] = values.over_unique(raw[column_of["locator"]], values.squares)
    beacons["freq_mhz"] = _frequencies(raw[column_of["freq"]], columns) if "freq" in column_of else np.nan
    wrong = beacons["call"].eq("") | beacons["locator"].eq("")
    bad = _aside(
        table,
        wrong,
        [column_of["call"], column_of["locator"]],
        source=source,
        field="beacon",
        reason="a beacon needs a call sign and a locator",
        repair="write both into the row",
    )
    return beacons[~wrong], bad


def listening_rows(
    table: Table, columns: Columns, *, source: str, station: str
) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Declared listening hours (`station band start end`) and rows set aside."""
    column_of = {meaning: column for column, meaning in columns.meaning.items()}
    raw = table.cells.reset_index(drop=True)
    hours = _spans(raw, column_of, columns)
    who = next((column_of[name] for name in ("station", "rx_call", "tx_call") if name in column_of), None)
    named = values.over_unique(raw[who], lambda text: text.str.strip().str.upper()) if who is not None else ""
    hours["station"] = pd.Series(named, index=raw.index, dtype="str").replace("", station.strip().upper())
    hours["band"] = values.over_unique(raw[column_of["band"]], values.bands) if "band" in column_of else ""
    wrong = ~(hours["end"] > hours["start"])
    bad = _aside(
        table,
        wrong,
        [column_of["start"], column_of["end"]],
        source=source,
        field="start, end",
        reason="listening hours need a start and a later end",
        repair="write both as YYYY-MM-DD HH:MM, in UTC",
    )
    return hours[~wrong], bad


def _spans(raw: pd.DataFrame, column_of: dict[str, str], columns: Columns) -> pd.DataFrame:
    """`start` and `end`; times of day beside one date may run past midnight."""
    first, last = (raw[column_of[name]] for name in ("start", "end"))
    if "date" in column_of:
        day = times.dates(raw[column_of["date"]], day_first=_day_first(columns))
        start, end = day + times.clocks(first), day + times.clocks(last)
        end = end.where(~(end < start), end + pd.Timedelta("1D"))
    else:
        start, end = (times.moments(cells, day_first=_day_first(columns)) for cells in (first, last))
    return pd.DataFrame({"start": _in_utc(start, columns), "end": _in_utc(end, columns)})


def _aside(table: Table, wrong: pd.Series, shown: list[str], **told: str) -> pd.DataFrame:
    """Rows of the table that are set aside, with what the columns `shown` hold side by side."""
    rows = np.flatnonzero(wrong)
    cells = table.cells.iloc[rows][shown].astype("str")
    found = [" ".join(row) for row in cells.itertuples(index=False)]
    return problems.set_aside(table.lines[rows], found=np.array(found, dtype="object"), **told)
