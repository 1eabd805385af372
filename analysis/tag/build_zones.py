"""Draw the shipped zone grid `zones.png` from Natural Earth outlines; run by hand, never by a review.

    python -m analysis.tag.build_zones FOLDER_WITH_NE_10M_SHAPEFILES

needs rasterio, pyshp and shapely, which a review does not. Every cell of two minutes of arc is one of

    0 sea, 1 coastal land (within 50 km of sea or of a large lake), 2 inland, 3 large lake

after the radio-climatic zones B, A1 and A2 of ITU-R P.452. A lake is large when its area is that of
the circle of 100 km diameter which the Recommendation names. The Recommendation's other clause for
coastal land, no more than 100 m above the sea, is not applied: no elevation data is shipped.
"""

from __future__ import annotations

import hashlib
import sys
from pathlib import Path

import numpy as np
from PIL import Image

from analysis.physics.earth import EARTH_KM

CELL_DEG = 1 / 30  # two minutes of arc, some 4 km
COAST_KM = 50.0  # ITU-R P.452: coastal land reaches 50 km from the sea
LAKE_KM2 = np.pi * 50.0**2  # ITU-R P.452: a lake counts as sea from a circle of 100 km across
OUTPUT = Path(__file__).parent / "zones.png"


def build(folder: Path) -> np.ndarray:
    """Zone of every cell, north row first, from the `ne_10m_land` and `ne_10m_lakes` in a folder."""
    land = _raster(_shapes(folder / "ne_10m_land.shp"))
    lake = _raster([shape for shape in _shapes(folder / "ne_10m_lakes.shp") if _km2(shape) >= LAKE_KM2])
    zones = np.where(land, 2, 0).astype("uint8")
    zones[lake & land] = 3
    zones[_near_water(zones)] = 1
    return zones


def _shapes(path: Path) -> list:
    import shapefile
    import shapely
    from shapely.geometry import shape

    with shapefile.Reader(str(path)) as reader:
        return [shapely.make_valid(shape(record.__geo_interface__)) for record in reader.shapes()]


def _km2(shape) -> float:
    from pyproj import Geod

    return abs(Geod(ellps="WGS84").geometry_area_perimeter(shape)[0]) / 1e6


def _raster(shapes: list) -> np.ndarray:
    """Cells whose centre lies inside; a rule that also paints the outline would add 2 % of land."""
    from rasterio.features import rasterize
    from rasterio.transform import from_origin

    size = (round(180 / CELL_DEG), round(360 / CELL_DEG))
    place = from_origin(-180, 90, CELL_DEG, CELL_DEG)
    return rasterize(shapes, out_shape=size, transform=place, dtype="uint8").astype(bool)


def _near_water(zones: np.ndarray) -> np.ndarray:
    """Land cells whose centre is within `COAST_KM` of the nearest water cell's centre."""
    from scipy.spatial import cKDTree

    water = np.isin(zones, (0, 3))
    # Only water that touches land can be nearest to land; the date line is no edge.
    inner = water & np.roll(water, 1, 1) & np.roll(water, -1, 1)
    inner[1:] &= water[:-1]
    inner[:-1] &= water[1:]
    tree = cKDTree(_unit(*np.nonzero(water & ~inner)))
    near = np.zeros_like(water)
    reach = 2 * np.sin(COAST_KM / EARTH_KM / 2)
    for row in range(0, len(zones), 100):
        cells = np.nonzero(~water[row : row + 100])
        if len(cells[0]):
            gap, _ = tree.query(_unit(cells[0] + row, cells[1]), distance_upper_bound=reach)
            near[cells[0] + row, cells[1]] = np.isfinite(gap)
    return near


def _unit(rows: np.ndarray, columns: np.ndarray) -> np.ndarray:
    lat = np.radians(90 - (rows + 0.5) * CELL_DEG)
    lon = np.radians(-180 + (columns + 0.5) * CELL_DEG)
    return np.column_stack([np.cos(lat) * np.cos(lon), np.cos(lat) * np.sin(lon), np.sin(lat)])


def main() -> None:
    """Write the grid beside this module and print the hashes that NOTICE records."""
    if len(sys.argv) != 2 or not (Path(sys.argv[1]) / "ne_10m_land.shp").is_file():
        sys.exit("Give one folder that holds ne_10m_land.shp and ne_10m_lakes.shp with their .shx and .dbf.")
    folder = Path(sys.argv[1])
    Image.fromarray(build(folder)).save(OUTPUT, optimize=True)
    for path in (folder / "ne_10m_land.shp", folder / "ne_10m_lakes.shp", OUTPUT):
        print(hashlib.sha256(path.read_bytes()).hexdigest(), path.name)


if __name__ == "__main__":
    main()
