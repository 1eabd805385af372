"""What the columns of a table mean."""

from __future__ import annotations

import re

NAMES = {  # meaning: what a header may call it, in small letters without punctuation
    "time": "time utc|time|utc|timestamp|datetime|date time|date and time|when|spot time|t",
    "date": "date|day|date utc|utc date|qso date",
    "clock": "clock|time of day|hhmm|hh mm|utc time|hour utc|time on",
    "band": "band|band m",
    "freq": "freq|frequency|freq mhz|frequency mhz|mhz|qrg|qrg mhz|freq khz|frequency khz|khz|qrg khz|freq hz|frequency hz|hz",
    "mode": "mode|emission",
    "submode": "submode",
    "tx_call": "tx|tx call|transmitter|sender|heard|call heard|station heard|sent by|tx station|dx|dx call|worked|call worked|tx sign|transmitter call|sender call|heard call|from call",
    "rx_call": "rx|rx call|receiver|listener|heard by|reporter|spotter|received by|rx station|rx sign|receiver call|listener call|own call|my call|reporter call|monitor|heard at",
    "call": "call|callsign|call sign|beacon|station call",
    "tx_locator": "tx locator|tx loc|tx grid|transmitter locator|sender locator|heard locator|dx locator|tx square|transmitter loc|sender loc|locator heard|tx qth|sender grid|dx grid|worked locator",
    "rx_locator": "rx locator|rx loc|rx grid|receiver locator|listener locator|reporter locator|own locator|my locator|rx square|receiver loc|listener loc|locator of listener|rx qth|reporter grid|heard by locator|receiver grid|my grid|my loc",
    "locator": "locator|loc|grid|square|qth locator|grid square|gridsquare|qth loc",
    "snr_db": "snr|snr db|db|s n|signal db|snr 2500 hz|signal to noise",
    "tx_power": "power|power dbm|dbm|power w|watt|watts|tx power|tx power dbm|tx power w|pwr|erp|eirp|erp w|w|power watt|power watts",
    "distance": "distance|distance km|km|dist|qrb|dist km",
    "bearing": "bearing|azimuth|az|qtf|bearing deg|direction",
    "prop_mode": "propagation|prop|prop mode|propagation mode",
    "start": "start|start utc|from|begin|since|on|start time|listening from|from utc",
    "end": "end|end utc|to|until|till|off|stop|end time|listening until|until utc|to utc",
    "station": "station|who|operator",
    "report": "rst|report|rst sent|rst rcvd|rs|signal report",
}
MEANING = {name: meaning for meaning, names in NAMES.items() for name in names.split("|")}


def tidy_name(header: str) -> str:
    """A header cell in small letters, punctuation and brackets as single blanks."""
    return re.sub(r"[^a-z0-9]+", " ", re.sub(r"(?<=[a-z])(?=[A-Z])", " ", header).lower()).strip()


def by_name(headers: list[str]) -> dict[str, str]:
    """Meaning of each header that has one, the first column wins where two mean the same."""
    found: dict[str, str] = {}
    for header in headers:
        meaning = MEANING.get(tidy_name(header))
        if meaning and meaning not in found.values():
            found[header] = meaning
    return found
