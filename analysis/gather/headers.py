"""Words people put above the columns of a table, and what they mean by them."""

from __future__ import annotations

import re

NAMES = {  # meaning: what a header may call it, in small letters without punctuation
    "time": "time utc|time|utc|timestamp|datetime|date time|date and time|when|spot time|t|date time utc|ts|epoch",
    "date": "date|day|date utc|utc date|qso date",
    "clock": "clock|time of day|hhmm|hh mm|utc time|hour utc|time on|hhmmss",
    "band": "band|band m",
    "freq": "freq|frequency|mhz|qrg|khz|hz|f",
    "mode": "mode|emission",
    "submode": "submode",
    "tx_call": "tx|tx call|transmitter|sender|heard|call heard|station heard|sent by|tx station|dx|dx call|worked"
    "|call worked|tx sign|transmitter call|sender call|heard call|heard station|transmitting station|station worked",
    "rx_call": "rx|rx call|receiver|listener|heard by|reporter|spotter|received by|rx station|rx sign|receiver call"
    "|listener call|own call|my call|reporter call|monitor|heard at|receiving station|hearer|reported by",
    "call": "call|callsign|call sign|beacon|station call",
    "tx_locator": "tx locator|tx loc|tx grid|transmitter locator|sender locator|heard locator|dx locator|tx square"
    "|transmitter loc|sender loc|locator heard|tx qth|sender grid|dx grid|worked locator|dx loc|heard loc|their locator",
    "rx_locator": "rx locator|rx loc|rx grid|receiver locator|listener locator|reporter locator|own locator|my locator"
    "|rx square|receiver loc|listener loc|locator of listener|rx qth|reporter grid|heard by locator|receiver grid"
    "|my grid|my loc|own loc|spotter locator",
    "locator": "locator|loc|grid|square|qth locator|grid square|gridsquare|qth loc|grid locator",
    "tx_lat": "tx lat|tx latitude|transmitter latitude|sender latitude",
    "tx_lon": "tx lon|tx longitude|transmitter longitude|sender longitude",
    "rx_lat": "rx lat|rx latitude|receiver latitude|listener latitude",
    "rx_lon": "rx lon|rx longitude|receiver longitude|listener longitude",
    "snr_db": "snr|db|report db|db report|s n|signal|sn|signal to noise",
    "tx_power": "power|dbm|mw|watt|watts|tx power|pwr|erp|eirp|w|tx pwr|output",
    "distance": "distance|km|dist|qrb|miles|mi",
    "bearing": "bearing|azimuth|az|qtf|direction",
    "prop_mode": "propagation|prop|prop mode|propagation mode",
    "start": "start|from|begin|since|on|start time|listening from|start utc|from utc|begin utc",
    "end": "end|to|until|till|off|stop|end time|listening until|end utc|until utc|to utc",
    "station": "station|who|operator",
    "kind": "kind",
    "ignore": "rst|report|rst sent|rst rcvd|rs|signal report|doubt|drift|source|source row|comment|note|notes",
}
MEANING = {name: meaning for meaning, names in NAMES.items() for name in names.split("|")}
UNIT_WORDS = r"\b(mhz|khz|hz|dbm|db|watts?|w|mw|km|miles|mi|deg|utc|2500)\b"


def tidy_name(header: str) -> str:
    """A header cell in small letters, punctuation and brackets as single blanks."""
    return re.sub(
        r"[^a-z0-9]+", " ", re.sub(r"(?<=[A-Za-z][a-z])(?=[A-Z][a-z]{2})", " ", header).lower()
    ).strip()


def named_meaning(header: str) -> str:
    """Meaning a header gives a column, with or without a unit beside it, "" if none."""
    name = tidy_name(header)
    bare = re.sub(r"\s+", " ", re.sub(UNIT_WORDS, " ", name)).strip()
    return MEANING.get(name) or MEANING.get(bare, "")


def named_unit(header: str, units: str) -> str:
    """The first of `units` (as a regular expression of small letters) that a header names, "" if none."""
    word = re.search(rf"\b({units})(?:atts?)?\b", tidy_name(header))
    return (
        {"mhz": "MHz", "khz": "kHz", "hz": "Hz", "dbm": "dBm", "mw": "mW", "w": "W"}[word[1]] if word else ""
    )
