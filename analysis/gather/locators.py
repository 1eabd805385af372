"""IARU locators: pairs of letters and digits that name a rectangle on the WGS84 Earth.

Field (18 x 18 letters, 20 by 10 degrees), square (10 x 10 digits, 2 by 1 degrees), subsquare
(24 x 24 letters, 5 by 2.5 minutes), extended square (10 x 10 digits, 30 by 15 seconds). Longitude
runs eastward from 180 W, latitude northward from 90 S.
"""

from __future__ import annotations

import numpy as np
import pandas as pd

PATTERN = r"[A-R]{2}[0-9]{2}(?:[A-X]{2}(?:[0-9]{2})?)?"
WIDTH_DEG = {4: 2.0, 6: 2.0 / 24, 8: 2.0 / 240}  # longitude; a cell is half as high as it is wide
BASES = (18, 10, 24, 10)  # how many cells each pair of characters divides the last one into


def clean(locators: pd.Series) -> pd.Series:
    """Trim and upper-case; what is still no locator becomes empty text."""
    text = locators.fillna("").astype("str")
    if text.str.fullmatch(PATTERN).all():
        return text
    text = text.str.strip().str.upper()
    return text.where(text.str.fullmatch(PATTERN), "")


def centre(locators: pd.Series) -> pd.DataFrame:
    """Centre of each locator's cell, by the IARU definition.

    Parameters
    ----------
    locators : Series of str
        4, 6 or 8 characters, any case; anything else gives NaN.

    Returns
    -------
    DataFrame
        `lon`, `lat` of the centre [degrees east, north] and `half_width_deg`, half the cell's
        width in longitude (its half height in latitude is half of that), index of `locators`.

    References
    ----------
    IARU Region 1 VHF Managers Handbook, section on the locator system.
    """
    codes, known = pd.factorize(clean(locators))
    return pd.DataFrame(
        _cells(known)[codes], index=locators.index, columns=pd.Index(["lon", "lat", "half_width_deg"])
    )


def place(locator: str) -> dict[str, float]:
    """`lon` and `lat` of the centre of one locator [degrees east, north], to be passed on by name."""
    found = centre(pd.Series([locator])).iloc[0]
    return {"lon": float(found["lon"]), "lat": float(found["lat"])}


def encode(*, lat: float, lon: float, length: int = 6) -> str:
    """Locator of `length` characters (4, 6 or 8) whose cell holds a point [degrees north, east].

    The north pole belongs to the northernmost cell, longitude 180 to the westernmost one.
    """
    if length not in WIDTH_DEG:
        raise ValueError(f"a locator has 4, 6 or 8 characters, not {length}")
    if not (-90 <= lat <= 90 and np.isfinite(lon)):
        raise ValueError(f"latitude {lat}, longitude {lon} is no point on Earth")
    # Whole numbers of the smallest cell keep a point on a boundary in the right cell.
    per_field = int(np.prod(BASES[1 : length // 2]))
    x = int(np.floor(round(((lon + 180) % 360) / 20 * per_field, 9)))
    y = min(int(np.floor(round((lat + 90) / 10 * per_field, 9))), 18 * per_field - 1)
    text = ""
    for level in range(length // 2):
        per_cell = int(np.prod(BASES[level + 1 : length // 2]))
        first = "A" if level % 2 == 0 else "0"
        text += "".join(chr(ord(first) + value // per_cell % BASES[level]) for value in (x, y))
    return text


def _cells(known: pd.Index) -> np.ndarray:
    """Longitude and latitude of the centre and half the width of each locator, a row of NaN for empty text."""
    letters = np.asarray(known, dtype="S8").view("uint8").reshape(len(known), 8).astype("int64")
    lon, lat, width = (np.full(len(known), start) for start in (-180.0, -90.0, 360.0))
    for level, cells in enumerate(BASES):
        there = letters[:, 2 * level] > 0  # a shorter locator ends in zeros
        width = np.where(there, width / cells, width)
        east, north = (letters[:, 2 * level + i] - ord("A" if level % 2 == 0 else "0") for i in (0, 1))
        lon, lat = np.where(there, (lon + east * width, lat + north * width / 2), (lon, lat))
    centres = np.column_stack([lon + width / 2, lat + width / 4, width / 2])
    centres[letters[:, 0] == 0] = np.nan
    return centres
