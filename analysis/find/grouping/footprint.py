"""Where an opening lay: how wide it was at one time, which way its centre went, which squares it joined."""

from __future__ import annotations

import numpy as np
import pandas as pd

from analysis.physics import earth
from analysis.physics.earth import EARTH_KM

WHILE_MIN = 10.0  # a place counts once in so long, however many stations live around it
LEAST_PATHS, LEAST_MIN = 8, 20.0  # below which the centre's way is not told
WITHIN = 0.9  # of the places lie within half the extent of the moving centre
TOLD = 3  # judgement: as many pairs of squares as a line holds
FOOTPRINT = {
    "extent_km": "float64",
    "from_lon": "float64",
    "from_lat": "float64",
    "to_lon": "float64",
    "to_lat": "float64",
    "joined": "str",
}


def footprint(rows: pd.DataFrame) -> pd.DataFrame:
    """Extent, way and squares of openings.

    Parameters
    ----------
    rows : DataFrame
        Reports: `opening` (never NA), `minute`, `mid_lon mid_lat`, `tx_call rx_call tx_locator rx_locator`.

    Returns
    -------
    DataFrame
        Index `opening`. `extent_km`: width of the circle about the centre, moving with it, that holds nine
        tenths of the midpoints: how far the opening stretched at one time, its drift apart. `from_lon
        from_lat to_lon to_lat`: the centre at the first and the last report [degrees], by a straight line
        through the midpoints; NaN with fewer than 8 paths or 20 minutes. `joined`: the pairs of squares
        with most paths, in words. How sure a drift is, `patches` tells.
    """
    way = _way(rows)
    return way.assign(joined=_joined(rows).reindex(way.index).astype("str").fillna(""))


def _way(rows: pd.DataFrame) -> pd.DataFrame:
    opening = rows["opening"].astype("int64")
    since = rows["minute"] - rows.groupby(opening)["minute"].transform("min")
    places = pd.DataFrame(
        {
            "opening": opening,
            "lon": rows["mid_lon"].astype(float),
            "lat": rows["mid_lat"].astype(float),
            "while": since // WHILE_MIN,
            "since": since,
        }
    )
    keys = ["opening", "lon", "lat", "while"]
    once = places.groupby(keys, dropna=False)["since"].mean().reset_index()
    points = earth.directions(lon=once["lon"], lat=once["lat"])
    vectors = pd.DataFrame(points, columns=list("xyz"))
    centre = vectors.groupby(once["opening"]).mean()
    size = np.sqrt((centre**2).sum(axis=1))
    lon0 = np.degrees(np.arctan2(centre["y"], centre["x"]))
    lat0 = np.degrees(np.arcsin((centre["z"] / size).clip(-1, 1)))
    # A plane touching the Earth amid the opening; 1 000 km away it is off by a percent.
    turn = (once["lon"] - once["opening"].map(lon0) + 180) % 360 - 180  # type: ignore[call-overload]
    flat = pd.DataFrame(
        {
            "opening": once["opening"],
            "x": np.radians(turn) * np.cos(np.radians(once["opening"].map(lat0))) * EARTH_KM,
            "y": np.radians(once["lat"] - once["opening"].map(lat0)) * EARTH_KM,
            "t": once["since"],
        }
    )
    line = _lines(flat, told=_enough(rows, opening, since))
    on = flat["opening"]
    off = [flat[axis] - on.map(line[f"{axis}0"]) - flat["t"] * on.map(line[f"{axis}1"]) for axis in "xy"]
    extent = 2 * np.hypot(*off).groupby(on).quantile(WITHIN)  # type: ignore[call-overload]
    table = pd.DataFrame({"extent_km": extent})
    last = since.groupby(opening).max()
    for name, minute in (("from", 0 * last), ("to", last)):
        east, north = (line[f"{axis}0"] + minute * line[f"{axis}1"] for axis in "xy")
        lon = lon0 + np.degrees(east / EARTH_KM / np.cos(np.radians(lat0)))
        table[f"{name}_lon"] = ((lon + 180) % 360 - 180).where(line["told"])
        table[f"{name}_lat"] = (lat0 + np.degrees(north / EARTH_KM)).where(line["told"])
    return table


def _lines(flat: pd.DataFrame, *, told: pd.Series) -> pd.DataFrame:
    """Least-squares lines x0 + x1 t, y0 + y1 t per opening; no slope where the way is not told."""
    groups = flat.groupby("opening")
    mean = groups[["x", "y", "t"]].mean()
    t = flat["t"] - flat["opening"].map(mean["t"])
    square = (t**2).groupby(flat["opening"]).sum()
    line = pd.DataFrame({"told": told.reindex(mean.index) & (square > 0)})
    for axis in "xy":
        slope = (t * flat[axis]).groupby(flat["opening"]).sum() / square.where(line["told"])
        line[f"{axis}1"] = slope.fillna(0.0)
        line[f"{axis}0"] = mean[axis] - line[f"{axis}1"] * mean["t"]
    return line


def _enough(rows: pd.DataFrame, opening: pd.Series, since: pd.Series) -> pd.Series:
    """Whether an opening has paths and minutes enough to tell its way."""
    pairs = rows[["tx_call", "rx_call"]].assign(opening=opening).drop_duplicates()
    return (pairs.groupby("opening").size() >= LEAST_PATHS) & (since.groupby(opening).max() >= LEAST_MIN)


def _joined(rows: pd.DataFrame) -> pd.Series:
    """`IN93–JO31, IN80–JO20 and 12 more`: pairs of squares by how many paths they had."""
    squares = np.sort(
        np.column_stack([rows[f"{end}_locator"].astype("str").str[:4] for end in ("tx", "rx")]), axis=1
    )
    paths = pd.DataFrame(
        {
            "opening": rows["opening"].astype("int64").to_numpy(),
            "tx": rows["tx_call"].to_numpy(),
            "rx": rows["rx_call"].to_numpy(),
            "pair": [f"{one}–{other}" if one and other else "" for one, other in squares],
        }
    ).drop_duplicates()
    sizes = paths[paths["pair"] != ""].groupby(["opening", "pair"]).size().rename("n").reset_index()
    sizes = sizes.sort_values(["opening", "n", "pair"], ascending=[True, False, True])
    rank = sizes.groupby("opening").cumcount()
    words = sizes[rank < TOLD].groupby("opening")["pair"].agg(", ".join).astype("str")
    more = (sizes.groupby("opening").size() - TOLD).clip(lower=0)
    return words.where(more == 0, words + " and " + more.astype("str") + " more")
