"""Notes on the FM broadcast band as rows like those of any reader, and lists of its transmitters as beacons."""

from __future__ import annotations

import numpy as np
import pandas as pd

from analysis.gather import problems
from analysis.gather.cells import values
from analysis.gather.columns.guesses import Columns
from analysis.gather.reading.delimited import Table
from analysis.gather.rows import checks, known

BAND = "FM"
NO_PLACE = (
    "write its locator or coordinates into the row, or its name into a list of places (name, locator) that is "
    "gathered with the notes"
)
NO_LISTENER = "add a column with the listener's locator, or name the own one with --home"
NUMBER = r"[NSEW]?\s*[+-]?[0-9]{1,3}(?:%s[0-9]+)?\s*°?\s*[NSEW]?"
PAIR = (  # two numbers with something between them that can be no part of either
    rf"(?i)^\s*({NUMBER % '[.,]'})(?:\s*[;/]\s*|\s*,\s+|\s+)({NUMBER % '[.,]'})\s*$",
    rf"(?i)^\s*({NUMBER % '[.]'})\s*,\s*({NUMBER % '[.]'})\s*$",
)


def spot_rows(table: Table, columns: Columns, *, source: str) -> pd.DataFrame:
    """Raw rows for `checks.checked` from notes on the FM broadcast band.

    A cell that names a place is a locator, coordinates or a name; the name then stands for the call of
    the transmitter, so that a list of places can say where it is. Times are read as in any other table.
    """
    cells = {meaning: table.cells[column].astype("str") for column, meaning in columns.meaning.items()}
    timed = {c: m for c, m in columns.meaning.items() if m in ("time", "date", "clock", "freq")}
    raw = known.spot_rows(table, Columns(timed, columns.unit, columns.sure), source=source)
    for side in ("tx", "rx"):
        end = _end(cells, side, index=raw.index)
        raw[[f"{side}_{name}" for name in end]] = end.to_numpy()
    if "rx_call" not in cells and "rx_place" not in cells:
        raw = raw.drop(columns="rx_call")  # the notes are those of whose files they are
    return raw.assign(kind="heard", mode=BAND)


def beacon_rows(table: Table, columns: Columns, *, source: str) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Transmitters and where they are (`call locator freq_mhz`), and rows set aside."""
    cells = {meaning: table.cells[column].astype("str") for column, meaning in columns.meaning.items()}
    rows = pd.DataFrame({"source_row": table.lines})
    end = _end(cells, "tx", index=rows.index).add_prefix("tx_")
    unit = columns.unit.get("freq", "MHz")
    timed = {column: meaning for column, meaning in columns.meaning.items() if meaning == "freq"}
    freq = known.spot_rows(table, Columns(timed, {"freq": unit}, {}), source=source)
    beacons = pd.DataFrame(
        {
            "call": values.names(end["tx_call"]),
            "locator": checks.locator(end, "tx"),
            "freq_mhz": freq.get("freq_mhz", np.nan),
        }
    )
    wrong = (beacons["call"].eq("") | beacons["locator"].eq("")).to_numpy()
    bad = problems.set_aside(
        table.lines[wrong],
        source=source,
        field="place",
        found=np.array([" ".join(row) for row in end[wrong].itertuples(index=False)], dtype="object"),
        reason="a transmitter needs a name, and a locator or coordinates",
        repair="write both into the row",
    )
    return beacons[~wrong], bad


def _end(cells: dict[str, pd.Series], side: str, *, index: pd.Index) -> pd.DataFrame:
    """`call locator lat lon` of one side as text: the name of what was heard, or of who heard it, and where."""
    blank = pd.Series("", index=index, dtype="str")
    told = {
        name: cells.get(f"{side}_{name}", blank).fillna("").set_axis(index)
        for name in ("call", "place", "locator", "lat", "lon")
    }
    for name in ("call", "place"):
        found = _place(told[name])
        for part in ("locator", "lat", "lon"):
            told[part] = told[part].where(told[part].str.strip() != "", found[part])
        told[name] = told[name].where(~found["placed"], "")
    call = told["place"].where(told["place"].str.strip() != "", told["call"])
    if side == "rx":  # the listener's name before that of the place
        call = told["call"].where(told["call"].str.strip() != "", told["place"])
    return pd.DataFrame({"call": call, **{name: told[name] for name in ("locator", "lat", "lon")}})


def _place(text: pd.Series) -> pd.DataFrame:
    """What cells say of a place without a name: `locator`, or `lat lon` as text; `placed`, whether they do."""
    square = values.over_unique(text, values.squares).astype("str")
    parts = text.str.extract(PAIR[0]).fillna(text.str.extract(PAIR[1])).fillna("").astype("str")
    placed = square.ne("") | parts[0].ne("")
    return pd.DataFrame({"locator": square, "lat": parts[0], "lon": parts[1], "placed": placed})


def placed(rows: pd.DataFrame) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Spots of the band with the places that other rows know, and those left without one, set aside.

    Parameters
    ----------
    rows : DataFrame
        The whole spot table, transmitters already placed by the lists.

    Returns
    -------
    rows : DataFrame
        Without the spots of the FM band that lack a locator at either end.
    bad : DataFrame
        Those, as rows of the set-aside table.
    """
    of_band = rows["band"].astype("str").eq(BAND).to_numpy()
    if not of_band.any():
        return rows, problems.no_rows()
    rows = rows.assign(rx_locator=_listeners(rows, of_band))
    blank = {side: of_band & rows[f"{side}_locator"].eq("").to_numpy() for side in ("tx", "rx")}
    told = {
        "tx": ("nothing says where the transmitter is", NO_PLACE),
        "rx": ("nothing says where the listener is", NO_LISTENER),
    }
    bad = [
        problems.set_aside(
            rows.loc[mask, "source_row"], source=rows.loc[mask, "source"], field=f"{side} place",
            found=rows.loc[mask, f"{side}_call"].to_numpy(dtype="object"), reason=told[side][0], repair=told[side][1],
        )
        for side, mask in (("tx", blank["tx"]), ("rx", blank["rx"] & ~blank["tx"]))
    ]  # fmt: skip
    return rows[~(blank["tx"] | blank["rx"])], pd.concat(bad, ignore_index=True)


def _listeners(rows: pd.DataFrame, of_band: np.ndarray) -> pd.Series:
    """Locators of receivers; a listener whose notes do not tell it has the one of all its other reports."""
    lacks = of_band & rows["rx_locator"].eq("").to_numpy() & rows["rx_call"].ne("").to_numpy()
    if not lacks.any():
        return rows["rx_locator"]
    known_at = rows[(rows["rx_locator"] != "") & rows["rx_call"].isin(rows.loc[lacks, "rx_call"].unique())]
    usual = known_at["rx_locator"].groupby(known_at["rx_call"]).agg(lambda own: own.mode().iloc[0])
    found = rows.loc[lacks, "rx_call"].map(usual.to_dict()).astype("str").fillna("")
    return rows["rx_locator"].where(~lacks, found.reindex(rows.index, fill_value=""))
