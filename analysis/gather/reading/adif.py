"""ADIF logs, .adi form (ADIF standard 3.1.x): records of length-counted fields.

Real files count the length of a value in characters or in bytes, and some miscount. A length is
believed where the next thing after the value is a tag, blank or the end of the file; otherwise the
count in bytes is tried, then the value ends at the next tag.
"""

from __future__ import annotations

import re

import pandas as pd

from analysis.gather.cells import values

TAG = re.compile(r"<([^<>:\r\n]{0,80})(?::([0-9]{1,9})(?::[^<>]{0,20})?)?>")
FIELD = re.compile(TAG.pattern + "([^<]*)")
BLANK = " \n\r\t"
LONGEST = 1 << 16  # characters of a value that may hold the sign of a tag: a count beyond it is not believed
FOLLOWED = re.compile(r"\s*(?:<[^<>\r\n]{1,99}>|\Z)")
SNR_MODES = (
    "FT8",
    "FT4",
    "FT2",
    "FST4",
    "MSK144",
    "Q65",
    "JT65",
    "JT9",
    "JT4",
    "JT6M",
    "QRA64",
    "ISCAT",
    "JS8",
)
"""Modes whose signed report is a signal-to-noise ratio in dB, not an RST."""
WANTED = {  # column of a raw row: fields that may give it, the first one that is filled wins
    "tx_call": ("CALL",),
    "tx_locator": ("GRIDSQUARE", "VUCC_GRIDS"),
    "rx_call": ("STATION_CALLSIGN", "OPERATOR", "OWNER_CALLSIGN"),
    "rx_locator": ("MY_GRIDSQUARE", "MY_VUCC_GRIDS"),
    "date": ("QSO_DATE",),
    "clock": ("TIME_ON",),
    "band": ("BAND_RX", "BAND"),
    "freq": ("FREQ_RX", "FREQ"),
    "mode": ("MODE",),
    "submode": ("SUBMODE",),
    "report": ("RST_SENT",),
    "rx_power": ("RX_PWR",),
    "prop_mode": ("PROP_MODE",),
    "tx_lat": ("LAT",),
    "tx_lon": ("LON",),
    "rx_lat": ("MY_LAT",),
    "rx_lon": ("MY_LON",),
    "swl": ("SWL",),
}


def looks_like_adif(text: str) -> bool:
    """Whether the text holds an end-of-record or end-of-header tag, or a counted CALL field."""
    return re.search(r"<eor>|<eoh>|<call:[0-9]+", text, re.IGNORECASE) is not None


def parse(text: str) -> tuple[list[dict[str, str]], dict[str, str]]:
    """Split a log into records.

    Parameters
    ----------
    text : str
        The file's characters with its own line ends.

    Returns
    -------
    records : list of dict
        Upper-case field name to value, one dict per <EOR>, fields before <EOH> left out.
    rest : dict
        What stood after the last <EOR>: a record cut short, or empty.
    """
    records: list[dict[str, str]] = []
    fields: dict[str, str] = {}
    spelled: dict[str, str] = {}  # a log has few names in many records
    at = 0
    while at >= 0:  # begun anew behind each miscounted value
        begun, at = at, -1
        for tag in FIELD.finditer(text, begun):
            name, length, value = tag.groups()
            if length is not None:
                count = int(length)
                if count < len(value) and value[count] in BLANK:
                    value = value[:count]
                elif count != len(value):
                    value = _miscounted(text, tag.start(3), count)
                    at = tag.start(3) + len(value)
                fields[spelled.get(name) or spelled.setdefault(name, name.strip().upper())] = value
                if at >= 0:
                    break
            elif (word := name.strip().lower()) == "eor":
                if fields:
                    records.append(fields)
                fields = {}
            elif word == "eoh" and "CALL" not in fields:
                fields = {}
    return records, fields


def _miscounted(text: str, at: int, length: int) -> str:
    """The value at `at` that holds a tag's sign, ends the file, or is not as long as the file has it."""
    if length > LONGEST:
        return _to_next_tag(text, at)
    value = text[at : at + length]
    if "<" in value or text[at + length : at + length + 1] not in "<" + BLANK:
        return _resynchronised(text, at, length)
    return value


def _to_next_tag(text: str, at: int) -> str:
    following = TAG.search(text, at)
    return text[at : following.start()].rstrip() if following else text[at : at + LONGEST]


def _resynchronised(text: str, at: int, length: int) -> str:
    """The value at `at` whose length the file has counted in its own way."""
    by_character = text[at : at + length]
    by_byte = by_character.encode("utf-8", "replace")[:length].decode("utf-8", "ignore")
    whole = [value for value in (by_character, by_byte) if FOLLOWED.match(text, at + len(value))]
    for value in whole:
        if not TAG.search(value):
            return value
    for value in whole:  # a note may quote a tag, but never a whole record
        if not re.search("<eor>", value, re.IGNORECASE):
            return value
    return _to_next_tag(text, at)


def rows(records: list[dict[str, str]]) -> pd.DataFrame:
    """Records as raw rows of text, one per record: columns as in `WANTED`, `snr_db`, `kind`, `source_row`.

    The station worked is the transmitter, the station whose log it is the receiver; of a crossband
    contact the band on which the other station was heard counts.
    """
    table = pd.DataFrame(index=pd.RangeIndex(len(records)))
    present = set().union(*records)
    for column, names in WANTED.items():
        first, *others = [name for name in names if name in present] or [""]
        if not first:
            table[column] = values.constant("", index=table.index)
            continue
        got = [record.get(first, "") for record in records]
        for other in others:
            if "" in got:
                got = [have or record.get(other, "") for have, record in zip(got, records, strict=True)]
        table[column] = pd.Series(got, dtype="str")
    table["source_row"] = table.index + 1
    table["kind"] = values.over_unique(table.pop("swl"), _kind)
    for side in ("tx_locator", "rx_locator"):  # a station on a line names several squares
        table[side] = values.over_unique(table[side], lambda text: text.str.split(",").str[0])
    table["mode"] = one_mode(mode=table["mode"], submode=table.pop("submode"))
    report = table.pop("report").astype("str")
    in_db = table["mode"].isin(SNR_MODES)
    table["snr_db"] = values.over_unique(report.where(in_db, ""), _decibels)
    table["tx_power_dbm"] = values.dbm(values.over_unique(table.pop("rx_power"), values.numbers))
    return table


def _kind(swl: pd.Series) -> pd.Series:
    """A listener's record (SWL is Y) was heard, any other was worked."""
    return swl.str.strip().str.upper().eq("Y").map({True: "heard", False: "worked"}).astype("str")


def _decibels(report: pd.Series) -> pd.Series:
    return values.numbers(report.where(report.str.fullmatch(r"\s*[+-][0-9]{1,2}\s*"), ""))


def one_mode(*, mode: pd.Series, submode: pd.Series) -> pd.Series:
    """The submode where the standard knows it, otherwise the mode as it stands."""
    sub = values.over_unique(
        submode,
        lambda text: values.modes(text).where(text.str.strip().str.upper().isin(list(values.submodes())), ""),
    )
    return sub.where(sub != "", values.over_unique(mode, values.modes))
