"""What a file of evidence holds, told by the names of its columns."""

from __future__ import annotations

import gzip
import re
import zlib
from pathlib import Path

from analysis.gather.columns import headers

FORECASTS, WEATHER, SOUNDINGS, TERRAIN, FIELD = KINDS = (
    "forecasts",
    "weather",
    "soundings",
    "terrain",
    "field",
)
HEAD = 4096  # bytes in which a heading ends
NAMES = {  # what people write above such columns, as `headers.tidy_name` has it, units taken away
    "issued": ("issued", "day issued", "date issued", "issue day", "issue date", "issued on", "noted on"),
    "meant": ("meant", "day meant", "date meant", "meant for", "valid", "valid for", "valid day", "for day"),
    "index": (
        *("index", "forecast", "forecast index", "level", "score", "value", "probability"),
        *("tropo index", "duct index", "ducting index", "opening index"),
    ),
    "area": ("area", "path", "region", "where", "zone"),
    "day": ("date", "day", "utc date", "datum", "tag", "jour", "fecha", "dia"),
    "time": ("time", "datetime", "date time", "utc", "time utc", "launch", "launched", "sounding"),
    "band": ("band",),
    "mechanism": ("mechanism", "mode of propagation", "propagation"),
    "pressure": ("pressure", "pressure hpa", "press", "mslp", "qnh", "luftdruck", "pression", "presion"),
    "temperature": ("temperature", "temp", "temperatur", "temperatura", "t"),
    "humidity": ("humidity", "relative humidity", "rh", "relh", "feuchte", "humidite", "humedad"),
    "dew_point": ("dew point", "dewpoint", "dewpt", "dwpt", "td", "taupunkt", "point de rosee"),
    "height": ("height", "altitude", "alt", "hght", "geopotential height", "hohe", "hauteur", "altura"),
    "thunder": ("thunder", "thunder day", "thunder days", "thunderstorm", "thunderstorms", "gewitter"),
    "planetary": (
        "kp",
        "kp index",
        "planetary index",
        "planetary",
        "k planetary",
        "k index",
        "k",
        "geomagnetic index",
        "kp value",
    ),
    "warm_front": ("warm front", "warm fronts", "warmfront", "warmfronts", "warmfronten"),
}
MEANING = {name: meaning for meaning, names in NAMES.items() for name in names}
UNITS = r"\b(?:hpa|mbar|mb|degc|deg c|deg|celsius|c|m|km|percent|pct)\b"

SCALE = r"\b[0-9]+(?: (?:to )?[0-9]+)?\b"  # "index 0-10": the scale is seen in the cells


def meaning(header: str) -> str:
    """What a header of such a table means, "" if nothing that we know."""
    name = headers.tidy_name(header)
    bare = re.sub(r"\s+", " ", re.sub(rf"{UNITS}|{SCALE}", " ", name)).strip()
    return MEANING.get(name) or MEANING.get(bare, "")


def kind_of(names: list[str]) -> str:
    """Kind of evidence that a table with these headers holds, "" if none."""
    have = {meaning(name) for name in names}
    if any("call" in headers.named_meaning(name) for name in names):
        return ""
    if {"issued", "meant", "index"} <= have:
        return FORECASTS
    air = "temperature" in have and bool(have & {"humidity", "dew_point"})
    if air and ("height" in have or ("pressure" in have and "day" not in have)):
        return SOUNDINGS
    if "planetary" in have and have & {"day", "time"}:
        return FIELD
    if "day" in have and have & {"pressure", "temperature", "thunder", "warm_front"}:
        return WEATHER
    return ""


def kind_of_file(path: Path) -> str:
    """Kind of evidence in a file, seen from its first line that is no comment; "" for any other file."""
    lines = [line.strip() for line in _head(path).splitlines()]
    first = next((line for line in lines if line and line[0] not in "#!%"), "")
    if re.fullmatch(r"(?i)ncols\s+[0-9]+", first):
        return TERRAIN
    return kind_of([cell.strip(' "') for cell in re.split(r"[,;\t|]", first)])


def _head(path: Path) -> str:
    try:
        with path.open("rb") as file:
            head = file.read(HEAD)
            if head[:2] == b"\x1f\x8b":
                file.seek(0)
                head = gzip.GzipFile(fileobj=file).read(HEAD)
    except (OSError, EOFError, zlib.error):  # what is wrong with the file is told by whoever reads it
        return ""
    return head.decode("utf-8-sig", "ignore")
