"""Heights of the ground from a plain raster: the ASCII grid, degrees of longitude and latitude."""

from __future__ import annotations

import io
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from analysis.gather.problems import InputError

KEYS = ("ncols", "nrows", "cellsize")
MOST_DEG = 20.0  # a grid in metres has cells of far more than that in its corner's numbers


@dataclass(frozen=True)
class Terrain:
    """Heights [m above sea] of cells, north first; west and south edge, and width of a cell [degrees]."""

    heights_m: NDArray
    west: float
    south: float
    cell: float

    def at(self, *, lon: NDArray, lat: NDArray) -> NDArray:
        """Height of the ground at places; NaN outside the grid and where it has none."""
        column = np.floor((np.asarray(lon) - self.west) / self.cell).astype(int)
        row = len(self.heights_m) - 1 - np.floor((np.asarray(lat) - self.south) / self.cell).astype(int)
        rows, columns = self.heights_m.shape
        inside = (row >= 0) & (row < rows) & (column >= 0) & (column < columns)
        found = self.heights_m[np.where(inside, row, 0), np.where(inside, column, 0)]
        return np.where(inside, found, np.nan)


def parse(text: str, *, source: str) -> Terrain:
    """A grid of the ASCII form: `ncols nrows xllcorner yllcorner cellsize NODATA_value`, then rows, north first.

    Raises
    ------
    InputError
        If a line of the heading is missing, the grid is not in degrees or a row is not whole.
    """
    lines = text.splitlines()
    head = [line.split() for line in lines[:8]]
    said = {words[0].lower(): words[1] for words in head if len(words) == 2 and words[0][:1].isalpha()}
    centred = "xllcenter" in said
    corner = ("xllcenter", "yllcenter") if centred else ("xllcorner", "yllcorner")
    missing = [key for key in (*KEYS, *corner) if key not in said]
    if missing:
        raise InputError(f"{source}: the grid's heading lacks {missing[0]}; export it as ASCII grid again")
    try:
        cell, west, south = (float(said[key]) for key in ("cellsize", *corner))
        heights = np.loadtxt(io.StringIO("\n".join(lines[len(said) :])), ndmin=2)
        shape = (int(said["nrows"]), int(said["ncols"]))
        nothing = float(said.get("nodata_value", "-9999"))
    except ValueError as fault:
        raise InputError(f"{source}: holds what is no number ({fault}); export the grid again") from None
    if heights.shape != shape:
        raise InputError(
            f"{source}: {heights.shape[0]} rows of {heights.shape[1]} where the heading says {shape[0]} of "
            f"{shape[1]}; export the grid again"
        )
    if not (0 < cell < MOST_DEG and abs(west) <= 360 and abs(south) <= 90):
        raise InputError(f"{source}: is not in degrees; export the grid in longitude and latitude (WGS84)")
    half = cell / 2 if centred else 0.0
    return Terrain(np.where(heights == nothing, np.nan, heights), west - half, south - half, cell)
