"""An invented month of reports, written as thirty tables of different shape, with the truth beside it."""

from dataclasses import dataclass
from functools import cache

import numpy as np
import pandas as pd
from pyproj import Geod

from analysis.gather import locators

N_STATIONS = 25
FORMATS = {
    "iso": "%Y-%m-%dT%H:%M:%SZ",
    "blank": "%Y-%m-%d %H:%M:%S",
    "minute": "%Y-%m-%d %H:%M",
    "packed": "%Y%m%d%H%M%S",
    "european": "%d.%m.%Y %H:%M:%S",
    "american": "%m/%d/%Y %H:%M",
    "named": "%d %b %Y %H:%M",
    "date": "%Y-%m-%d",
    "yymmdd": "%y%m%d",
    "dotted": "%d.%m.%Y",
    "clock": "%H:%M:%S",
    "hhmm": "%H%M",
    "hhmmss": "%H%M%S",
}


@cache
def season(*, seed: int, slots: int = 30) -> pd.DataFrame:
    """True reports: in each slot some stations transmit, each on its own frequency, and the others hear them."""
    rng = np.random.default_rng(seed)
    letters = np.array(list("ABCDEFGHJKLMNPRSTUVWXYZ"))
    calls = [
        f"Q{rng.choice(letters)}{rng.integers(10)}{''.join(rng.choice(letters, 3))}"
        for _ in range(N_STATIONS)
    ]
    square = [
        locators.encode(lat=float(rng.uniform(38, 58)), lon=float(rng.uniform(-9, 16)))
        for _ in range(N_STATIONS)
    ]
    power = rng.choice([1.0, 5, 10, 25, 50, 100, 200, 400], N_STATIONS)
    audio = rng.uniform(0.3, 2.7, N_STATIONS)
    times = pd.date_range("2023-06-01 05:00", periods=slots * 40, freq="15min", tz="UTC")
    rows = []
    for slot in np.sort(rng.choice(times, slots, replace=False)):
        sending = rng.permutation(N_STATIONS)[: rng.integers(3, 8)]
        for tx in sending:
            for rx in rng.permutation(np.setdiff1d(np.arange(N_STATIONS), sending))[: rng.integers(1, 9)]:
                rows.append((slot, tx, rx, 50.313 + audio[tx] / 1e3, int(rng.integers(-24, 12))))
    table = pd.DataFrame(rows, columns=pd.Index(["time", "tx", "rx", "freq_mhz", "snr_db"]))
    table["time"] = pd.DatetimeIndex(table["time"]).tz_convert("UTC")
    for side in ("tx", "rx"):
        table[f"{side}_call"] = np.array(calls)[table[side]]
        table[f"{side}_locator"] = np.array(square)[table[side]]
    table["watts"] = power[table["tx"]]
    ends = [locators.centre(table[f"{side}_locator"]) for side in ("rx", "tx")]
    bearing, _, metres = Geod(ellps="WGS84").inv(
        ends[0]["lon"], ends[0]["lat"], ends[1]["lon"], ends[1]["lat"]
    )
    table["km"], table["bearing"] = np.round(metres / 1e3), np.round(bearing % 360)
    table["drift"], table["version"] = (
        rng.integers(-2, 3, len(table)),
        "v" + pd.Series(rng.integers(1, 4, len(table))).astype(str),
    )
    return table.sample(frac=1, random_state=seed).sort_values("time", kind="stable", ignore_index=True)


@dataclass(frozen=True)
class Shape:
    """How a table is written: (true column, header) pairs in order, separator, and what is above the table."""

    name: str
    columns: list[tuple[str, str]]
    separator: str = ","
    header: bool = True
    above: str = ""
    asks: bool = False  # nothing in the table says who transmitted


def cells(table: pd.DataFrame, true: str) -> pd.Series:
    """One column as text: `time:iso`, `freq:khz`, `power:dbm` and so on, or a column of the truth as it is."""
    name, _, form = true.partition(":")
    if name == "time" and form in FORMATS:
        return table["time"].dt.strftime(FORMATS[form])
    if name == "time":
        seconds = (table["time"] - pd.Timestamp(0, tz="UTC")).dt.total_seconds()
        return (seconds * {"s": 1, "ms": 1e3}[form]).astype("int64").astype(str)
    if name == "freq":
        factor, digits = {"mhz": (1, 6), "khz": (1e3, 3), "hz": (1e6, 0), "comma": (1, 5)}[form]
        text = (table["freq_mhz"] * factor).map(f"{{:.{digits}f}}".format)
        return text.str.replace(".", ",") if form == "comma" else text
    if name == "power":
        watts = table["watts"]
        return (
            (10 * np.log10(watts) + 30).round().astype(int).astype(str)
            if form == "dbm"
            else watts.map("{:g}".format)
        )
    if name == "locator4":
        return table[f"{form}_locator"].str[:4].str.lower()
    if name == "constant":
        return pd.Series(form, index=table.index)
    if name == "quoted":
        return '"fine day, ' + pd.Series(form, index=table.index) + '"'
    if name == "id":
        return pd.Series(np.arange(len(table)) + 7_000_000, index=table.index).astype(str)
    return table[name].map("{:g}".format if table[name].dtype == "float64" else str)


def written(table: pd.DataFrame, shape: Shape) -> str:
    """The text of a table of that shape."""
    columns = [cells(table, true) for true, _ in shape.columns]
    if shape.separator == "padded":
        columns = [column.str.pad(column.str.len().max() + 1, side="right") for column in columns]
    separator = {"padded": "\t", "fixed": " "}.get(shape.separator, shape.separator)
    if shape.separator == "fixed":
        columns = [column.str.pad(column.str.len().max() + 1) for column in columns]
    lines = [separator.join(row) for row in zip(*columns, strict=True)]
    header = [separator.join(name for _, name in shape.columns)] if shape.header else []
    return shape.above + "\n".join(header + lines) + "\n"


def truth_of(shape: Shape) -> list[str]:
    """Meaning of each column, "" for columns that carry nothing of use."""
    kind = {"time:date": "date", "time:yymmdd": "date", "time:dotted": "date"}
    kind |= {f"time:{form}": "clock" for form in ("clock", "hhmm", "hhmmss")}
    first = {"time": "time", "freq": "freq", "power": "tx_power", "km": "distance", "bearing": "bearing"}
    meanings = []
    for true, _ in shape.columns:
        name, _, form = true.partition(":")
        meaning = kind.get(true) or first.get(name) or (f"{form}_locator" if name == "locator4" else "")
        if not meaning and name in ("tx_call", "rx_call", "tx_locator", "rx_locator", "snr_db"):
            meaning = name
        if true in ("constant:FT8", "constant:6m"):
            meaning = "mode" if form == "FT8" else "band"
        meanings.append(meaning)
    return meanings


TX = [("tx_call", ""), ("tx_locator", "")]
RX = [("rx_call", ""), ("rx_locator", "")]
DUMP = [
    ("id", ""), ("time:s", ""), *RX, ("snr_db", ""), ("freq:mhz", ""), *TX, ("power:dbm", ""), ("drift", ""),
    ("km", ""), ("bearing", ""), ("constant:6m", ""), ("version", ""), ("constant:0", ""),
]  # fmt: skip
SHAPES = [
    Shape("headerless dump of fifteen columns", DUMP, header=False),
    Shape("the same with transmitter first", [*DUMP[:2], *TX, *DUMP[4:6], *RX, *DUMP[8:]], header=False),
    Shape("headerless, ms and Hz", [("time:ms", ""), *TX, *RX, ("freq:hz", ""), ("snr_db", "")], header=False),
    Shape("headerless, kHz, receiver first", [*RX, ("freq:khz", ""), ("time:iso", ""), *TX], header=False),
    Shape("headerless, calls then locators", [("time:blank", ""), ("rx_call", ""), ("tx_call", ""), ("rx_locator", ""),
          ("tx_locator", ""), ("freq:mhz", ""), ("power:w", "")], header=False),
    Shape("headerless, W settles it", [("time:minute", ""), *RX, *TX, ("power:w", ""), ("constant:6m", "")], header=False),
    Shape("headerless, dBm settles it", [("time:minute", ""), *TX, *RX, ("power:dbm", ""), ("constant:6m", "")], header=False),
    Shape("headerless, nothing settles it", [("time:minute", ""), *TX, *RX, ("constant:6m", "")], header=False, asks=True),
    Shape("vague header, nothing settles it", [("time:iso", "time"), ("tx_call", "call 1"), ("tx_locator", "loc 1"),
          ("rx_call", "call 2"), ("rx_locator", "loc 2"), ("constant:6m", "band")], asks=True),
    Shape("vague header, frequency settles it", [("time:iso", "time"), ("rx_call", "call 1"), ("rx_locator", "loc 1"),
          ("tx_call", "call 2"), ("tx_locator", "loc 2"), ("freq:mhz", "f")]),
    Shape("plain header", [("time:iso", "utc"), ("freq:mhz", "freq"), ("tx_call", "tx call"), ("tx_locator", "tx locator"),
          ("rx_call", "rx call"), ("rx_locator", "rx locator"), ("snr_db", "snr"), ("constant:FT8", "mode")]),
    Shape("semicolon and comma", [("time:dotted", "date"), ("time:clock", "time utc"), ("freq:comma", "MHz"),
          ("rx_call", "receiver"), ("rx_locator", "receiver locator"), ("tx_call", "transmitter"),
          ("tx_locator", "transmitter locator"), ("power:w", "power W")], separator=";"),
    Shape("tab, swapped order", [("rx_locator", "my locator"), ("tx_locator", "locator heard"), ("rx_call", "my call"),
          ("tx_call", "call heard"), ("snr_db", "dB"), ("freq:khz", "kHz"), ("time:named", "when")], separator="\t"),
    Shape("padded tabs, no header", [("time:blank", ""), ("freq:mhz", ""), *TX, *RX, ("snr_db", "")], separator="padded", header=False),
    Shape("padded tabs", [("time:blank", "time"), ("freq:mhz", "freq"), ("tx_call", "sender"), ("tx_locator", "sender locator"),
          ("rx_call", "listener"), ("rx_locator", "listener locator")], separator="padded"),
    Shape("fixed blanks, no header", [("time:date", ""), ("time:hhmm", ""), ("freq:khz", ""), *TX, *RX], separator="fixed", header=False),
    Shape("fixed blanks", [("time:yymmdd", "date"), ("time:hhmm", "utc"), ("constant:6m", "band"), ("tx_call", "tx"),
          ("tx_locator", "tx-loc"), ("rx_call", "rx"), ("rx_locator", "rx-loc")], separator="fixed"),
    Shape("quoted text with commas", [("quoted:and warm", "remarks"), ("time:iso", "time"), ("tx_call", "heard"),
          ("tx_locator", "heard locator"), ("rx_call", "heard by"), ("rx_locator", "heard by locator"), ("freq:mhz", "MHz")]),
    Shape("quoted text, no header", [("time:iso", ""), *RX, ("quoted:or not", ""), ("freq:mhz", ""), *TX], header=False),
    Shape("month first", [("time:american", "time"), ("tx_call", "tx"), ("rx_call", "rx"), ("tx_locator", "tx grid"),
          ("rx_locator", "rx grid"), ("freq:mhz", "frequency (MHz)")]),
    Shape("day first", [("time:european", "date/time"), ("tx_call", "TX Call"), ("rx_call", "RX Call"),
          ("tx_locator", "TX Locator"), ("rx_locator", "RX Locator"), ("freq:hz", "Freq [Hz]")], separator="|"),
    Shape("packed time", [("time:packed", "timestamp"), ("tx_call", "TxCall"), ("tx_locator", "TxLocator"),
          ("rx_call", "RxCall"), ("rx_locator", "RxLocator"), ("freq:khz", "FreqKhz"), ("power:dbm", "PowerDbm")]),
    Shape("comments above", [("time:iso", "time"), ("tx_call", "tx"), ("tx_locator", "tx loc"), ("rx_call", "rx"),
          ("rx_locator", "rx loc"), ("constant:6m", "band")], above="# invented\n# by a test\n\n"),
    Shape("title above", [("time:iso", "time"), ("tx_call", "tx"), ("tx_locator", "tx loc"), ("rx_call", "rx"),
          ("rx_locator", "rx loc"), ("constant:6m", "band")], above="Reports of the club\n\n"),
    Shape("header behind a comment sign", [("time:iso", "# time"), ("tx_call", "tx"), ("tx_locator", "tx loc"),
          ("rx_call", "rx"), ("rx_locator", "rx loc"), ("constant:6m", "band")]),
    Shape("four characters in small letters", [("time:s", "epoch"), ("tx_call", "tx"), ("locator4:tx", "tx square"),
          ("rx_call", "rx"), ("locator4:rx", "rx square"), ("freq:mhz", "mhz"), ("snr_db", "s/n")]),
    Shape("one side named", [("time:iso", "time"), ("tx_call", "callsign"), ("tx_locator", "locator"),
          ("rx_call", "heard by"), ("rx_locator", "own locator"), ("freq:mhz", "qrg")]),
    Shape("distance and bearing", [("time:iso", "utc"), ("km", "km"), ("bearing", "az"), ("tx_call", "dx call"),
          ("tx_locator", "dx locator"), ("rx_call", "my call"), ("rx_locator", "my locator"), ("freq:mhz", "mhz")]),
    Shape("hhmmss and date apart", [("time:hhmmss", "time"), ("time:yymmdd", "date"), ("snr_db", "snr"),
          ("freq:mhz", "freq"), ("tx_call", "tx"), ("tx_locator", "tx loc"), ("rx_call", "rx"), ("rx_locator", "rx loc")]),
    Shape("headerless pipes, powers in W", [("time:ms", ""), ("constant:FT8", ""), *TX, ("power:w", ""), *RX,
          ("km", ""), ("freq:hz", "")], separator="|", header=False),
]  # fmt: skip
