"""Tables as clubs keep them: other languages, clocks, units, encodings and ornaments, with the truth beside them."""

from __future__ import annotations

import io
import json
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import pandas as pd

from analysis.gather import locators
from tests.gather import shapes

OWN_CALL, OWN_SQUARE = "Q1OWN", "IN93KD"


@dataclass(frozen=True)
class Club:
    """One table: (truth, header) pairs in order, and how it is dressed.

    `worked`: rows are contacts; `own`: rows are those of one station; `calm`: no two reports share a time, so that nothing
    but names can tell the sides; `asks`: only a person can; `summaries`: lines below that are no rows
    but look like rows; `dress`: text to bytes.
    """

    name: str
    columns: list[tuple[str, str]]
    separator: str = ";"
    header: bool = True
    worked: bool = False
    own: bool = False
    calm: bool = False
    asks: bool = False
    summaries: int = 0
    dress: Callable[[str], bytes] = str.encode


def rows_of(club: Club, *, seed: int) -> pd.DataFrame:
    """True reports for one table."""
    table = shapes.season(seed=seed).copy()
    if club.worked or club.own or club.calm:
        table = table.drop_duplicates("time", ignore_index=True)
    if club.worked or club.own:
        table["rx_call"], table["rx_locator"] = OWN_CALL, OWN_SQUARE
    if any(true.startswith("portable") for true, _ in club.columns):
        table["tx_call"] += np.where(table["tx"] % 3 == 0, "/P", "")
    for true, _ in club.columns:
        if true.startswith("gaps:"):
            table[true[5:]] = table[true[5:]].where(np.arange(len(table)) % 7 > 0, "")
    return table


def cells(table: pd.DataFrame, true: str) -> pd.Series:
    """One column as text; beside what `shapes.cells` knows: `time:` with a format, `+` and a unit, and ornaments."""
    true, _, unit = true.partition("+")
    name, _, form = true.partition(":")
    if unit:
        return cells(table, true) + unit
    if name == "time" and "%" in form:
        return _moments(table["time"], form)
    if name == "zoned":
        return (table["time"] + pd.Timedelta("2h")).dt.strftime("%Y-%m-%d %H:%M:%S") + form.replace(
            "plus", "+"
        )
    if name == "lower":
        return table[form].str.lower()
    if name in ("portable", "gaps"):
        return table[form]
    if name == "mixed":
        return pd.Series(
            [square[: (4, 6)[i % 2]] + ("42" if i % 4 == 1 else "") for i, square in enumerate(table[form])]
        )
    if name == "dotted":
        return table["freq_mhz"].map(lambda mhz: f"{mhz * 1e6:,.0f}".replace(",", "."))
    if name == "thousands":
        return table["freq_mhz"].map(lambda mhz: f'"{mhz * 1e3:,.1f}"')
    if name in ("lat", "lon"):
        return locators.centre(table[f"{form}_locator"])[name].map("{:.4f}".format)
    if name == "row":
        return pd.Series(range(len(table))).astype(str)
    if name == "words":
        return pd.Series(["", "weak", "weak with fading", "in and out for an hour"])[
            np.arange(len(table)) % 4
        ].reset_index(drop=True)
    if name == "index":
        return pd.Series(np.arange(len(table)) % 50 + 1).astype(str).str.zfill(3)
    return shapes.cells(table, true)


def _moments(time: pd.Series, form: str) -> pd.Series:
    for sign, names in MONTHS.items():
        if sign in form:
            month = time.dt.month.map(dict(enumerate(names, start=1)))
            parts = form.split(sign)
            return time.dt.strftime(parts[0]) + month + time.dt.strftime(parts[1])
    return time.dt.strftime(form)


MONTHS = {
    "<de>": [
        "Januar",
        "Februar",
        "März",
        "April",
        "Mai",
        "Juni",
        "Juli",
        "August",
        "September",
        "Oktober",
        "November",
        "Dezember",
    ],
    "<fr>": [
        "janvier",
        "février",
        "mars",
        "avril",
        "mai",
        "juin",
        "juillet",
        "août",
        "septembre",
        "octobre",
        "novembre",
        "décembre",
    ],
    "<es>": ["ene", "feb", "mar", "abr", "may", "jun", "jul", "ago", "sep", "oct", "nov", "dic"],
}
MEANINGS = {"zoned": "time", "dotted": "freq", "thousands": "freq"}
USELESS = ("%Y-%m-%d %H:%M:59", "%H%M59", "%Y-%m-%d 03:33:00")  # ends of contacts, a local time beside UTC
CARRIERS = ("lower", "portable", "mixed", "gaps")


def meaning_of(true: str) -> str:
    """What a column means, "" if nothing of use."""
    true = true.partition("+")[0]
    name, _, form = true.partition(":")
    if name == "time" and form in USELESS:
        return ""
    if name == "time" and "%" in form:
        clock = "%H" in form or "%I" in form
        return ("time" if clock else "date") if "%d" in form else "clock"
    if name in CARRIERS:
        return form
    if name in ("lat", "lon"):
        return f"{form}_{name}"
    if name == "constant" and form in ("50", "50MHz", "6 m", "2m", "6M"):
        return "band"
    if name == "constant" and form in (OWN_CALL, OWN_SQUARE):
        return "rx_call" if form == OWN_CALL else "rx_locator"
    if name == "constant" and form in ("CW", "SSB", "ft8"):
        return "mode"
    return MEANINGS.get(name) or shapes.truth_of(shapes.Shape("", [(true, "")]))[0]


def written(table: pd.DataFrame, club: Club) -> bytes:
    """The bytes of a table."""
    columns = [cells(table, true).reset_index(drop=True) for true, _ in club.columns]
    names = [header for _, header in club.columns]
    if club.separator == "fixed":
        wide = [
            max(column.str.len().max(), len(name)) + 2 for column, name in zip(columns, names, strict=True)
        ]
        columns = [column.str.ljust(width) for column, width in zip(columns, wide, strict=True)]
        names = [name.ljust(width) for name, width in zip(names, wide, strict=True)]
    separator = "" if club.separator == "fixed" else club.separator
    lines = [separator.join(row) for row in zip(*columns, strict=True)]
    return club.dress("\n".join(([separator.join(names)] if club.header else []) + lines) + "\n")


def above(words: str) -> Callable[[str], bytes]:
    return lambda text: (words + text).encode()


def below(words: str) -> Callable[[str], bytes]:
    return lambda text: (text + words).encode()


def header_again(text: str) -> bytes:
    """The header again after every forty rows, as on printed pages."""
    first, *rest = text.splitlines()
    return "\n".join(
        line for at, row in enumerate(rest) for line in ([first, row] if at % 40 == 0 else [row])
    ).encode()


def quoted(text: str) -> bytes:
    return ("\ufeff" + "\n".join('"' + line.replace(";", '";"') + '"' for line in text.splitlines())).encode()


def piped(text: str) -> bytes:
    first, *rest = ["| " + line.replace(";", " | ") + " |" for line in text.splitlines()]
    return "\n".join([first, "|" + "---|" * (first.count("|") - 1), *rest]).encode()


def as_json_lines(text: str) -> bytes:
    """One nested object a line, from headers like `tx.call`."""
    made = []
    for row in pd.read_csv(io.StringIO(text), sep=";", dtype="str").to_dict("records"):
        item: dict = {}
        for name, cell in row.items():
            *outer, last = name.split(".")
            (item.setdefault(outer[0], {}) if outer else item)[last] = cell
        made.append(json.dumps(item))
    return "\n".join(made).encode()


def as_json_list(text: str) -> bytes:
    return pd.read_csv(io.StringIO(text), sep=";").to_json(orient="records").encode()


def as_parquet(text: str) -> bytes:
    return pd.read_csv(io.StringIO(text), sep=";", parse_dates=["when"]).to_parquet(None)


TX, RX = [("tx_call", ""), ("tx_locator", "")], [("rx_call", ""), ("rx_locator", "")]
ENDS = [("tx_call", "tx"), ("tx_locator", "tx loc"), ("rx_call", "rx"), ("rx_locator", "rx loc")]
DAY, CLOCK = ("time:%d.%m.%Y", "Datum"), ("time:%H:%M", "Uhrzeit (UTC)")
SHORT = [("time:blank", "utc"), ("freq:mhz", "MHz"), *ENDS]
LOG = [("time:date", "date"), ("time:hhmm", "utc"), ("tx_call", "call"), ("constant:6m", "band"), ("constant:SSB", "mode"),
       ("constant:59", "rst sent"), ("constant:59", "rst rcvd"), ("tx_locator", "locator")]  # fmt: skip
CLUBS = [
    Club("German, heard", [DAY, CLOCK, ("freq:comma", "QRG MHz"), ("tx_call", "Sender"), ("tx_locator", "Locator Sender"),
         ("rx_call", "Empfänger"), ("rx_locator", "Locator Empfänger"), ("snr_db", "SNR")]),
    Club("German, powers", [DAY, CLOCK, ("constant:CW", "Betriebsart"), ("freq:comma", "Frequenz"), ("rx_call", "gehört von"),
         ("rx_locator", "eigener Locator"), ("tx_call", "gehört"), ("tx_locator", "Locator"), ("power:w+ W", "Leistung")]),
    Club("German, contacts", [DAY, ("time:%H:%M", "Zeit"), ("constant:6m", "Band"), ("constant:SSB", "Betriebsart"), ("tx_call", "Rufzeichen"),
         ("constant:59", "RST gesendet"), ("constant:59", "RST empfangen"), ("tx_locator", "Locator"), ("rx_locator", "Eigener Locator"),
         ("rx_call", "Eigenes Rufzeichen"), ("constant:schön", "Bemerkung")], worked=True, dress=lambda text: text.encode("cp1252")),
    Club("French, heard", [("time:%d/%m/%Y", "Date"), ("time:%H:%M", "Heure TU"), ("freq:khz", "Fréquence (kHz)"), ("tx_call", "Émetteur"),
         ("tx_locator", "Locator émetteur"), ("rx_call", "Récepteur"), ("rx_locator", "Locator récepteur"), ("power:w", "Puissance (W)")],
         dress=lambda text: text.encode("utf-8-sig")),
    Club("French, squares", [("time:%d/%m/%Y", "Date"), ("time:%Hh%M", "Heure"), ("constant:6m", "Bande"), ("tx_call", "Indicatif entendu"),
         ("locator4:tx", "Carré entendu"), ("rx_call", "Entendu par"), ("locator4:rx", "Mon carré")], dress=lambda text: text.encode("latin-1")),
    Club("Spanish, contacts", [("time:%d/%m/%Y", "Fecha"), ("time:%H:%M", "Hora UTC"), ("freq:comma", "Frecuencia"), ("constant:SSB", "Modo"),
         ("constant:59", "RST enviado"), ("constant:55", "RST recibido"), ("tx_call", "Indicativo"), ("tx_locator", "Localizador"), ("rx_call", "Mi indicativo"), ("rx_locator", "Mi localizador")], worked=True),
    Club("Spanish, heard", [("tx_call", "Emisor"), ("rx_call", "Receptor"), ("tx_locator", "Localizador emisor"), ("rx_locator", "Localizador receptor"),
         ("power:w", "Potencia"), ("constant:6m", "Banda"), ("time:%d/%m/%Y %H:%M", "Fecha y hora"), ("km", "Distancia")], separator="\t"),
    Club("German months", [("time:%d. <de> %Y %H:%M", "Datum und Zeit"), ("freq:mhz", "QRG"), *ENDS], calm=True),
    Club("French months", [("time:%d <fr> %Y", "Date"), ("time:%Hh%M", "Heure"), ("freq:mhz", "QRG"), *ENDS], calm=True),
    Club("Spanish months", [("time:%d-<es>-%Y %H:%M", "Fecha"), ("freq:mhz", "QRG"), *ENDS], calm=True),
    Club("twelve-hour clock", [("time:%m/%d/%Y %I:%M:%S %p", "time"), ("freq:mhz", "freq"), *ENDS], separator=",", calm=True),
    Club("twelve-hour clock apart", [("time:%d-%b-%Y", "date"), ("time:%I:%M %p", "time (UTC)"), ("freq:mhz", "freq"), *ENDS], separator=","),
    Club("UTC written", [("time:%Y-%m-%d %H:%M:%S UTC", "heard at (UTC)"), ("freq:mhz", "freq"), *ENDS], separator=","),
    Club("offset written", [("zoned:plus02:00", "received"), ("freq:mhz", "freq"), *ENDS], separator=","),
    Club("offset without colon", [("zoned: plus0200", "received"), ("freq:mhz", "freq"), *ENDS], separator=","),
    Club("thousandths", [("time:%Y-%m-%dT%H:%M:%S.000Z", "received"), ("freq:mhz", "freq"), *ENDS], separator=","),
    Club("month first in words", [("time:%B %d, %Y %H:%M", "when"), ("freq:mhz", "freq"), *ENDS], separator="\t", calm=True),
    Club("weekday written", [("time:%a %d %b %Y %H:%M", "when"), ("freq:mhz", "freq"), *ENDS], separator="\t", calm=True),
    Club("de and dx", [("time:%d-%m-%Y %H:%M", "utc"), ("freq:khz", "kHz"), ("rx_call", "de"), ("rx_locator", "de loc"), ("tx_call", "dx"),
         ("tx_locator", "dx loc")], calm=True),
    Club("spotter and spotted", [("time:%H%MZ", "time"), ("time:%d-%b-%Y", "date"), ("rx_call", "Spotter"), ("rx_locator", "Spotter grid"),
         ("tx_call", "Spotted"), ("tx_locator", "Spotted grid"), ("freq:khz", "kHz")], calm=True),
    Club("who heard me", [("time:blank", "time"), ("tx_call", "my call"), ("tx_locator", "my locator"), ("rx_call", "heard by"),
         ("rx_locator", "locator heard by"), ("freq:mhz", "MHz"), ("snr_db", "snr")], calm=True),
    Club("who heard me, reporters", [("time:blank", "time"), ("rx_call", "reporter"), ("rx_locator", "reporter grid"), ("tx_call", "own call"),
         ("tx_locator", "own grid"), ("constant:6m", "band")], calm=True),
    Club("side behind the thing", [("time:s", "ts"), ("tx_call", "call_tx"), ("tx_locator", "grid_tx"), ("rx_call", "call_rx"),
         ("rx_locator", "grid_rx"), ("freq:hz", "freq_hz"), ("power:dbm", "power_dbm")], calm=True),
    Club("two-word stations", [("time:blank", "Timestamp"), ("tx_call", "TX Station"), ("tx_locator", "TX Grid Square"), ("rx_call", "RX Station"),
         ("rx_locator", "RX Grid Square"), ("constant:FT8", "Mode"), ("constant:50MHz", "Band")], calm=True),
    Club("capitals", [("time:blank", "TIME_UTC"), ("tx_call", "TX_CALLSIGN"), ("tx_locator", "TX_LOCATOR"), ("rx_call", "RX_CALLSIGN"),
         ("rx_locator", "RX_LOCATOR"), ("freq:mhz", "FREQ_MHZ"), ("power:w", "TX_POWER_W")], calm=True),
    Club("contacts with start and end", [("time:blank", "start"), ("time:%Y-%m-%d %H:%M:59", "end"), ("tx_call", "call"), ("constant:6m", "band"),
         ("constant:SSB", "mode"), ("tx_locator", "locator"), ("rx_locator", "my locator")], separator=",", worked=True),
    Club("time on and time off", [("time:date", "qso date"), ("time:hhmmss", "time on"), ("time:%H%M59", "time off"), *LOG[2:]], separator=",", worked=True),
    Club("contacts without header", [(true, "") for true, _ in LOG], header=False, worked=True),
    Club("contacts, numbers exchanged", [*LOG[:5], ("index+", "nr sent"), ("constant:59", "rst sent"), ("index", "nr rcvd"), ("tx_locator", "wwl"),
         ("rx_locator", "own wwl"), ("km", "qrb")], worked=True),
    Club("MHz beside the number", [("time:blank", ""), *RX, *TX, ("freq:mhz+ MHz", ""), ("snr_db+ dB", "")], header=False),
    Club("kHz beside the number", [("time:blank", "when"), ("freq:khz+ kHz", "qrg"), ("snr_db+dB", "report"), *ENDS], calm=True),
    Club("Hz beside the number", [("time:blank", "when"), ("freq:hz+ Hz", "qrg"), *ENDS], calm=True),
    Club("points between thousands", [("time:blank", "utc"), ("dotted", "frequency"), *ENDS], calm=True),
    Club("commas between thousands", [("time:blank", "utc"), ("thousands", "frequency"), *ENDS], separator=",", calm=True),
    Club("W beside the number", [("time:minute", ""), *RX, *TX, ("constant:6m", ""), ("power:w+W", "")], header=False),
    Club("dBm beside the number", [("time:minute", "time"), ("power:dbm+ dBm", "TX pwr"), ("constant:6 m", "band"), *ENDS], calm=True),
    Club("empty columns", [("time:blank", "utc"), ("constant:", ""), ("freq:mhz", "MHz"), ("constant:", "qsl"), *ENDS, ("constant:", "")], separator=","),
    Club("numbered rows without a name", [("row", ""), *SHORT], separator=","),
    Club("mark and quotes", SHORT, dress=quoted),
    Club("UTF-16", SHORT, separator="\t", dress=lambda text: text.encode("utf-16")),
    Club("UTF-16 without a mark", SHORT, separator="\t", dress=lambda text: text.encode("utf-16-le")),
    Club("CR only", SHORT, dress=lambda text: text.replace("\n", "\r").encode()),
    Club("summary below", [("time:blank", "utc"), ("tx_call", "heard"), ("tx_locator", "heard locator"), ("rx_call", "heard by"),
         ("rx_locator", "own locator"), ("constant:6M", "band")], dress=below("\nTotal;170 reports;;;;\n"), calm=True, summaries=1),
    Club("header on every page", SHORT, dress=header_again),
    Club("title over the middle", SHORT, dress=above(";;Reports of the club;;;\n;;;;;\n")),
    Club("separator declared", SHORT, dress=above("sep=;\n")),
    Club("prose above", SHORT, separator=",", dress=above("Reports of the club, summer 2023\nKept by the beacon group, all times UTC\n\n")),
    Club("calls with /P", [("time:blank", "utc"), ("freq:mhz", "MHz"), ("portable:tx_call", "tx"), *ENDS[1:]]),
    Club("small letters", [("time:blank", "utc"), ("freq:mhz", "mhz"), ("lower:tx_call", "tx"), ("lower:tx_locator", "tx loc"),
         ("lower:rx_call", "rx"), ("lower:rx_locator", "rx loc"), ("constant:ft8", "mode")]),
    Club("squares of all lengths", [("time:blank", "utc"), ("freq:mhz", "mhz"), ("tx_call", "tx"), ("mixed:tx_locator", "tx wwl"),
         ("rx_call", "rx"), ("mixed:rx_locator", "rx wwl")]),
    Club("own locator in the heading", [("time:blank", "utc"), ("tx_call", "call"), ("tx_locator", "loc"), ("constant:6m", "band"), ("snr_db", "db")],
         own=True, dress=above(f"Own locator: {OWN_SQUARE}\nOwn call: {OWN_CALL}\n")),
    Club("own station in a comment", [("time:blank", ""), ("tx_call", ""), ("tx_locator", ""), ("freq:khz", "")], header=False, own=True,
         dress=above(f"# station {OWN_CALL}, locator {OWN_SQUARE.lower()}, 2023\n")),
    Club("fixed places with gaps", [("time:date", "date"), ("time:hhmm", "utc"), ("freq:khz", "khz"), ("tx_call", "tx"), ("gaps:tx_locator", "txloc"),
         ("rx_call", "rx"), ("rx_locator", "rxloc"), ("snr_db", "snr")], separator="fixed"),
    Club("fixed places with words", [("time:date", "date"), ("time:hhmm", "utc"), ("freq:khz", "khz"), ("tx_call", "tx"), ("tx_locator", "txloc"),
         ("rx_call", "rx"), ("rx_locator", "rxloc"), ("words", "remarks")], separator="fixed"),
    Club("drawn with bars", SHORT, dress=piped),
    Club("nested objects", [("time:iso", "time"), ("tx_call", "tx.call"), ("tx_locator", "tx.locator"), ("rx_call", "rx.call"),
         ("rx_locator", "rx.locator"), ("freq:hz", "frequency")], dress=as_json_lines, calm=True),
    Club("list of objects", [("time:ms", "t"), ("freq:khz", "f"), ("tx_call", "senderCallsign"), ("tx_locator", "senderLocator"),
         ("rx_call", "receiverCallsign"), ("rx_locator", "receiverLocator"), ("snr_db", "snr")], dress=as_json_list, calm=True),
    Club("Parquet with types", [("time:iso", "when"), ("freq:hz", "freq"), *ENDS, ("power:w", "watts")], dress=as_parquet, calm=True),
    Club("seconds with a fraction", [("time:s+.000", ""), *TX, ("freq:mhz", ""), *RX, ("snr_db", "")], header=False),
    Club("separators at the end", [*SHORT, ("constant:", "")], separator="\t"),
    Club("two frequencies", [("time:blank", "utc"), ("freq:mhz", "tx freq"), ("freq:mhz", "rx freq"), *ENDS], calm=True),
    Club("degrees", [("time:blank", "utc"), ("tx_call", "tx"), ("lat:tx", "tx lat"), ("lon:tx", "tx lon"), ("rx_call", "rx"), ("lat:rx", "rx lat"),
         ("lon:rx", "rx lon"), ("freq:mhz", "MHz")], calm=True),
    Club("local and UTC", [("time:%Y-%m-%d 03:33:00", "local time"), *SHORT], calm=True),
    Club("comma for the decimals, commas between", [("time:blank", "utc"), ("freq:comma", "frq"), *ENDS], separator="\t"),
    Club("two stations, nothing settles it", [("time:blank", "utc"), ("tx_call", "station 1"), ("tx_locator", "locator 1"), ("rx_call", "station 2"),
         ("rx_locator", "locator 2"), ("constant:6m", "band")], calm=True, asks=True),
    Club("from and to", [("time:blank", "utc"), ("tx_call", "from"), ("tx_locator", "from locator"), ("rx_call", "to"), ("rx_locator", "to locator"),
         ("constant:6m", "band")], calm=True, asks=True),
    Club("the same with frequencies", [("time:blank", "utc"), ("rx_call", "from"), ("rx_locator", "from locator"), ("tx_call", "to"),
         ("tx_locator", "to locator"), ("freq:mhz", "MHz")]),
    Club("call and station", [("time:blank", "utc"), ("tx_call", "call"), ("tx_locator", "locator"), ("rx_call", "station"), ("constant:6m", "band")],
         calm=True, asks=True),
    Club("days and months that nothing settles", [("time:05/06/%Y %H:%M", "time"), *SHORT[1:]], calm=True, asks=True),
]  # fmt: skip
