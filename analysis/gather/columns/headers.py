"""Words people put above the columns of a table, and what they mean by them (English, French, German, Spanish)."""

from __future__ import annotations

import re
import unicodedata

NAMES = {  # meaning: what a header may call it, in small letters without accents and punctuation
    "time": "time|timestamp|datetime|date time|date and time|when|spot time|t|ts|epoch|datum und zeit|datum zeit"
    "|date et heure|date heure|fecha y hora|fecha hora|zeitpunkt",
    "date": "date|day|qso date|datum|tag|jour|fecha|dia",
    "clock": "clock|time of day|hhmm|hh mm|utc time|hour|time on|hhmmss|zeit|uhrzeit|heure|hora",
    "band": "band|band m|bande|banda",
    "freq": "freq|frequency|mhz|qrg|khz|hz|f|frq|frequenz|frequence|frecuencia",
    "mode": "mode|emission|betriebsart|modo",
    "submode": "submode",
    "snr_db": "snr|db|db report|s n|signal|sn|signal to noise",
    "tx_power": "power|dbm|mw|watt|watts|pwr|erp|eirp|w|output|leistung|puissance|potencia|kw",
    "distance": "distance|km|dist|qrb|miles|mi|entfernung|distanz|distancia",
    "bearing": "bearing|azimuth|az|qtf|direction|azimut|richtung|acimut|rumbo",
    "prop_mode": "propagation|prop|prop mode|propagation mode",
    "start": "start|from|begin|since|on|start time|listening from|time start|beginn|anfang|von|debut|inicio|desde",
    "end": "end|to|until|till|off|stop|end time|listening until|time end|time off|ende|bis|fin|hasta",
    "station": "station|who|operator",
    "kind": "kind",
    "ignore": "doubt|drift|source|source row|comment|comments|note|notes|remark|remarks|bemerkung|remarque|notas",
}
MEANING = {name: meaning for meaning, names in NAMES.items() for name in names.split("|")}
SIDES = {  # whose column it is; the own side follows from the other one
    "tx": "tx transmitter transmitting sender sending heard spotted dx worked their emetteur emisor transmisor gehort"
    " gehorte entendu entendue oido oida gegenstation correspondant corresponsal",
    "rx": "rx receiver receiving listener hearer reporter spotter monitor empfanger horer recepteur receptor auditeur",
    "own": "own my mine home eigen eigene eigener eigenes mein meine mon ma mi propio propia",
}
THINGS = {
    "call": "call callsign sign station stn rufzeichen indicatif indicativo",
    "locator": "locator loc grid square gridsquare qth wwl maidenhead localizador localisateur carre cuadricula feld",
    "lat": "lat latitude latitud breite",
    "lon": "lon long longitude longitud lange",
    "freq": "freq frequency qrg frequenz frequence frecuencia",
    "power": "power pwr erp eirp leistung puissance potencia",
}
SIDE = {word: side for side, words in SIDES.items() for word in words.split()}
THING = {word: thing for thing, words in THINGS.items() for word in words.split()}
FILLERS = frozenset(["of", "the", "der", "des", "du", "de", "la", "le", "el", "los", "s"])
HEARD_BY = (
    r"\b(?:heard|received|reported|spotted) by\b|\b(?:entendue?|recu) par\b"
    r"|\b(?:oid[oa]|recibid[oa]) por\b|\b(?:gehort|empfangen|gemeldet) von\b"
)
SENT_BY = r"\b(?:sent|transmitted) by\b|\bgesendet von\b|\bemis par\b|\bemitid[oa] por\b"
REPORT = r"\b(?:rst|rs|report|rapport|reporte|nr|serial|exchange)\b"
SENT = r"\b(?:sent|s|out|tx|gesendet|gegeben|envoye|passe|enviado)\b"
RECEIVED = r"\b(?:rcvd|received|r|in|rx|empfangen|erhalten|recu|recibido)\b"
LOCAL = r"\b(?:local|locale|lokalzeit|ortszeit|lt|mez|mesz|cet|cest|wet|west|eet|eest|bst|[ecmp][sd]t)\b"  # clocks of a region
UNIT_WORDS = r"\b(?:mhz|khz|hz|dbm|db|watts?|kw|w|mw|km|miles|mi|deg|utc|gmt|tu|2500)\b"
UNITS = {"mhz": "MHz", "khz": "kHz", "hz": "Hz", "dbm": "dBm", "mw": "mW", "kw": "kW", "w": "W"}


def tidy_name(header: str) -> str:
    """A header cell in small letters without accents, punctuation and brackets as single blanks."""
    split = re.sub(r"(?<=[A-Za-z][a-z])(?=[A-Z][a-z]{2})", " ", header)
    plain = unicodedata.normalize("NFKD", split).encode("ascii", "ignore").decode()
    return re.sub(r"[^a-z0-9]+", " ", plain.lower()).strip()


def named_meaning(header: str) -> str:
    """Meaning a header gives a column, with or without a unit beside it, "" if none.

    The own station's columns are `own_call`, `own_locator`; `meanings` says which side that is.
    """
    name = tidy_name(header)
    if is_local(header):
        name = re.sub(r"\s+", " ", re.sub(LOCAL, " ", name)).strip() or "time"
    if re.search(REPORT, name):
        return "snr_db" if re.search(r"\bdb\b", name) else "ignore"
    bare = re.sub(r"\s+", " ", re.sub(UNIT_WORDS, " ", name)).strip()
    return (
        MEANING.get(name)
        or MEANING.get(bare)
        or _sided(name)
        or _sided(bare)
        or ("time" if name == "utc" else "")
    )


def _sided(name: str) -> str:
    """Meaning of a name that says whose and what, in any order, and nothing else."""
    words = re.sub(SENT_BY, "sender", re.sub(HEARD_BY, "listener", name)).split()
    words = [word for word in words if word not in FILLERS]
    sides = {SIDE[word] for word in words if word in SIDE}
    things = {THING[word] for word in words if word in THING}
    if (
        not words
        or len(sides) > 1
        or len(things) > 1
        or not all(word in SIDE or word in THING for word in words)
    ):
        return ""
    side, thing = "".join(sides), "".join(things) or "call"
    if thing in ("freq", "power"):
        return "freq" if thing == "freq" else {"": "tx_power", "tx": "tx_power"}.get(side, "")
    if side == "own" and not things:
        return ""
    return f"{side}_{thing}" if side else thing if thing in ("call", "locator") else ""


def meanings(names: list[str]) -> dict[str, str]:
    """Meaning of each header of a table, "" if none.

    The own station received, unless its call stands beside another receiver's: then that one heard it.
    """
    said = {name: named_meaning(name) for name in names}
    have = set(said.values())
    heard_by_others = {"own_call", "rx_call"} <= have and not {"tx_call", "tx_locator"} & have
    for name, meaning in said.items():
        if meaning.startswith("own_"):
            tx, rx = meaning.replace("own", "tx"), meaning.replace("own", "rx")
            free = [side for side in ((tx, rx) if heard_by_others else (rx, tx)) if side not in have]
            said[name] = free[0] if free else "ignore"
    return said


def is_local(header: str) -> bool:
    """Whether a header says that its times are those of a region's clocks."""
    name = tidy_name(header)
    rest = re.sub(r"\s+", " ", re.sub(LOCAL, " ", name)).strip()
    return rest != name and (not rest or MEANING.get(rest) in ("time", "date", "clock", "start", "end"))


def report_side(header: str) -> str:
    """`sent`, `received` or `some` for a column of reports or serial numbers, "" for any other."""
    name = tidy_name(header)
    if not re.search(REPORT, name):
        return ""
    return "sent" if re.search(SENT, name) else "received" if re.search(RECEIVED, name) else "some"


def tell_contacts(names: list[str]) -> bool:
    """Whether headers speak of contacts: reports both ways, or a station worked."""
    words = {word for name in names for word in tidy_name(name).split()}
    both = {"sent", "received"} <= {report_side(name) for name in names}
    return both or bool(words & {"worked", "qso", "gegenstation", "correspondant", "corresponsal"})


def named_unit(header: str, units: str) -> str:
    """The first of `units` (as a regular expression of small letters) that a header names, "" if none."""
    word = re.search(rf"\b({units})(?:atts?)?\b", tidy_name(header))
    return UNITS[word[1]] if word else ""
