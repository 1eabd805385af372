"""Raw rows of any reader into rows of the spot table, and what cannot be used into the set-aside table."""

from __future__ import annotations

import numpy as np
import pandas as pd

from analysis.gather import locators, problems, spots
from analysis.gather.cells import times, values

FUTURE_SLACK = pd.Timedelta("1D")
FIRST_TIME = pd.Timestamp("1930-01-01", tz="UTC")  # judgement: no log on these bands is as old
DUMMY_ROWS = 5  # judgement: fewer at one frequency may be chance
OWN = ("rx_call", "rx_locator", "rx_lat")  # what says whose report a row is, or where it was made
FAULTS = {  # field: reason, repair
    "call": ("no call sign of the station heard or worked", "write the call sign into the row"),
    "time": ("no date or no time of day that can be read", "write date and time as YYYY-MM-DD HH:MM, in UTC"),
    "future": (
        "the time lies in the future",
        "correct the date, or the clock of this machine or of the one that wrote it, and gather the file again",
    ),
    "past": ("the time lies before there were such contacts", "correct the year"),
    "band": (
        "neither a band nor a frequency inside one",
        "write the band (6m, 2m ...) or the frequency in MHz",
    ),
}


FUTURE = problems.sentence(FAULTS["future"][0])  # words, no number


def checked(
    raw: pd.DataFrame, *, home: str = "", station: str = "", now: pd.Timestamp | None = None
) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Check the raw rows of files.

    Parameters
    ----------
    raw : DataFrame
        `source source_row` and any of the text columns `date clock moment band freq mode tx_call rx_call
        tx_locator rx_locator tx_power prop_mode tx_lat tx_lon rx_lat rx_lon`; numbers
        `freq_mhz`, `snr_db`, `tx_power_dbm` and times `time` where the reader knows them already; `kind`.
    home, station : str
        Locator and call of the station whose files they are, used where a row names no receiver's own.
    now : Timestamp, optional
        Rows more than a day after it are set aside; the machine's clock by default.

    Returns
    -------
    good : DataFrame
        Rows of the spot table (`spots.COLUMNS`).
    bad : DataFrame
        Rows of the set-aside table (`problems.SET_ASIDE`); good and bad together are all rows.
    """
    now = now or pd.Timestamp.now("UTC")
    rows = pd.DataFrame(index=pd.RangeIndex(len(raw)))
    raw = raw.reset_index(drop=True)
    rows["source_row"] = raw["source_row"]
    rows["time"] = _time(raw)
    rows["tx_call"] = _text(raw, "tx_call", values.calls)
    rows["rx_call"] = _receiver(raw, station)
    rows["freq_mhz"], rows["band"], frequency_doubt = _frequency(raw)
    rows["mode"] = _text(raw, "mode", lambda text: values.modes(text).astype("category"))
    rows["prop_mode"] = _text(raw, "prop_mode", lambda text: text.str.strip().str.upper().astype("category"))
    for side in ("tx", "rx"):
        rows[f"{side}_locator"] = locator(raw, side)
    missing = rows.loc[rows["rx_locator"].eq(""), "rx_call"]
    own = missing.isin(["", station.upper()]) | raw.loc[missing.index, "kind"].eq("worked")
    rows.loc[missing.index[own], "rx_locator"] = home_locator(home)
    if station:  # a list of who heard the own station
        heard_us = rows["tx_locator"].eq("") & rows["tx_call"].eq(station.upper())
        rows.loc[heard_us, "tx_locator"] = home_locator(home)
    for number in ("snr_db", "tx_power_dbm"):
        rows[number] = raw.get(number, np.nan)
    rows["kind"] = raw["kind"]
    rows = _broadcasts(rows, raw)
    unread = [_unread(raw, rows, side) for side in ("tx", "rx")]
    rows["doubt"] = problems.joined([frequency_doubt, *unread], index=rows.index)
    rows["source"] = raw["source"]
    bad = _faults(rows, raw, now=now)
    good = rows if bad.empty else rows[~rows.index.isin(bad.index)]
    return spots.as_spots(good), bad.reset_index(drop=True)


def placed(raw: pd.DataFrame, *, home: str) -> pd.DataFrame:
    """Notes (`source note`) on files with rows that name neither station nor place, so that home is taken for it."""
    unnamed = pd.Series(bool(home_locator(home)), index=raw.index)
    for name in OWN:
        if name in raw and unnamed.any():
            unnamed &= values.over_unique(raw[name], lambda text: text.str.strip().eq("")).to_numpy()
    n = unnamed.groupby(raw["source"].astype("str")).agg(["sum", "size"])
    n = n[n["sum"] > 0]
    told = (
        "rows that name neither station nor place: "
        + n["sum"].astype("str")
        + " of "
        + n["size"].astype("str")
    )
    note = told + f", put at {home_locator(home)} as --home says"
    return pd.DataFrame({"source": n.index, "note": note.to_numpy()}, dtype="str")


def home_locator(home: str) -> str:
    """The home locator in upper case, "" if none was given; InputError if it is no locator."""
    tidy = locators.clean(pd.Series([home])).iloc[0]
    if home.strip() and not tidy:
        raise problems.InputError(
            f"home locator {home!r} is no locator: give 4, 6 or 8 characters such as IN93 or IN93fk"
        )
    return tidy


def _text(raw: pd.DataFrame, column: str, tidy) -> pd.Series:
    if column not in raw:
        return values.constant("", index=raw.index)
    return values.over_unique(raw[column], tidy)


def _time(raw: pd.DataFrame) -> pd.Series:
    if "time" in raw:
        return raw["time"]
    if "date" in raw and "clock" in raw:
        return times.dates(raw["date"]) + times.clocks(raw["clock"])
    return pd.Series(pd.NaT, index=raw.index, dtype=times.UTC_TIME)


def _receiver(raw: pd.DataFrame, station: str) -> pd.Series:
    """Receivers may bear a name that is no call sign; a listener's own name is as good as a call."""
    if "rx_call" not in raw:
        return values.constant(station.strip().upper(), index=raw.index)
    named = values.over_unique(
        raw["rx_call"], lambda text: text.str.strip().str.strip("<>").str.upper().str[:20]
    )
    return named if named.ne("").all() else named.where(named != "", station.strip().upper())


def _broadcasts(rows: pd.DataFrame, raw: pd.DataFrame) -> pd.DataFrame:
    """Rows of bands that are only listened to: a name is as good as a call there, and nobody was worked."""
    broadcast = rows["band"].isin(values.RECEIVE_ONLY)
    if not broadcast.any():
        return rows
    odd = broadcast & (rows["kind"].eq("worked") | ~rows["mode"].isin(values.BROADCAST_MODES))
    at = rows.index[broadcast & ~odd]
    named = values.over_unique(raw.loc[at, "tx_call"], values.names).astype("str")
    unnamed = rows.loc[at, "freq_mhz"].map("{:g} MHz ".format) + rows.loc[at, "tx_locator"].str[:4]
    call = rows["tx_call"].astype("str")
    call.loc[at] = named.where(named != "", unnamed.where(rows.loc[at, "freq_mhz"].notna(), ""))
    return rows.assign(tx_call=call, band=rows["band"].mask(odd, ""))


def _frequency(raw: pd.DataFrame) -> tuple[pd.Series, pd.Series, pd.Series]:
    """Frequency [MHz, to the hertz], band, and a doubt where the two contradict each other: then the band counts."""
    if "freq_mhz" in raw:
        freq = raw["freq_mhz"].astype("float64")
    elif "freq" in raw:
        freq = values.over_unique(raw["freq"], values.numbers)
    else:
        freq = pd.Series(np.nan, index=raw.index)
    freq = freq.where(freq > 0)
    measured = values.band_of(freq)
    if "band" not in raw:
        return freq.round(6), measured, pd.Series(dtype="str")
    stated = values.over_unique(raw["band"], values.bands)
    wrong = stated.ne("") & measured.ne(stated) & freq.notna()
    if wrong.any():
        in_khz = wrong & values.band_of(freq / 1e3).eq(stated)
        freq, wrong = (freq / 1e3).where(in_khz, freq), wrong & ~in_khz
    at = freq.index[wrong & ~_dummy(freq, wrong, raw["source"])]
    shown = freq[at].map("{:g}".format).astype("str")
    doubt = "frequency " + shown + " MHz is not in the stated band " + stated[at].astype("str")
    return freq.where(~wrong).round(6), stated.where(stated != "", measured), doubt


def _dummy(freq: pd.Series, wrong: pd.Series, source: pd.Series) -> pd.Series:
    """One frequency that most rows of a log show outside their band: it was never meant as one."""
    shown = pd.DataFrame({"freq": freq[wrong], "source": source[wrong].astype("str")})
    count = shown.groupby(["source", "freq"])["freq"].transform("size")
    rows = shown["source"].map(source.astype("str").value_counts()) if len(shown) else count
    return ((count >= DUMMY_ROWS) & (count >= 0.5 * rows)).reindex(freq.index, fill_value=False)


def locator(raw: pd.DataFrame, side: str) -> pd.Series:
    """Locators, where absent from latitude and longitude; both 0 stand for an unknown place."""
    named = _text(raw, f"{side}_locator", values.squares).astype("str")
    if f"{side}_lat" not in raw or f"{side}_lon" not in raw:
        return named
    lat, lon = (values.over_unique(raw[f"{side}_{name}"], values.degrees) for name in ("lat", "lon"))
    usable = named.eq("") & lat.between(-90, 90) & lon.between(-180, 180) & ~(lat.eq(0) & lon.eq(0))
    known = {
        place: locators.encode(lat=place[0], lon=place[1])
        for place in set(zip(lat[usable], lon[usable], strict=True))
    }
    encoded = [known[place] for place in zip(lat[usable], lon[usable], strict=True)]
    return named.where(~usable, pd.Series(encoded, index=named.index[usable], dtype="str"))


def _unread(raw: pd.DataFrame, rows: pd.DataFrame, side: str) -> pd.Series:
    """A doubt where something stands for a locator and is none."""
    at = rows.index[rows[f"{side}_locator"].eq("")]
    if f"{side}_locator" not in raw or at.empty:
        return pd.Series(dtype="str")
    written = raw.loc[at, f"{side}_locator"].astype("str").fillna("").str.strip().str[:20].replace("RR73", "")
    told = "locator '" + written + "' of " + rows.loc[at, f"{side}_call"] + " cannot be read"
    return told[written.str.contains(r"\w", regex=True)]  # a dash or a question mark says that it is unknown


def _faults(rows: pd.DataFrame, raw: pd.DataFrame, *, now: pd.Timestamp) -> pd.DataFrame:
    """Rows without call, time or band, each listed once under its first fault and its own index."""
    checks = {
        "call": (rows["tx_call"].eq(""), ["tx_call"]),
        "time": (rows["time"].isna(), ["moment", "date", "clock"]),
        "future": (rows["time"] > now + FUTURE_SLACK, ["moment", "date", "clock"]),
        "past": (rows["time"] < FIRST_TIME, ["moment", "date", "clock"]),
        "band": (rows["band"].eq(""), ["band", "freq", "freq_mhz"]),
    }
    parts = [problems.no_rows()]
    free = pd.Series(True, index=rows.index)
    for field, (fault, shown) in checks.items():
        at = rows.index[fault & free]
        free &= ~fault
        if len(at):
            reason, repair = FAULTS[field]
            part = problems.set_aside(
                rows.loc[at, "source_row"],
                source=raw.loc[at, "source"],
                field="time" if field in ("future", "past") else field,
                found=_shown(raw.loc[at], shown),
                reason=reason,
                repair=repair,
            )
            parts.append(part.set_axis(at))
    return pd.concat(parts).sort_index()


def _shown(raw: pd.DataFrame, columns: list[str]) -> np.ndarray:
    """What the named columns hold, side by side."""
    text = pd.Series("", index=raw.index, dtype="str")
    for column in columns:
        if column in raw:
            text = text + " " + raw[column].astype("str").fillna("")
    return text.to_numpy(dtype="object")
