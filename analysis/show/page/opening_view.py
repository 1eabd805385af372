"""One opening as it moved: a self-contained page with a map, a time slider and no outside link.

Without a script the page shows the whole opening at once. No call sign is on it.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import jinja2
import numpy as np
import pandas as pd
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from analysis.find import grid
from analysis.find.reach import REGION
from analysis.gather import locators
from analysis.show.charts import style
from analysis.show.maps.outlines import outline
from analysis.show.wording import words
from analysis.tag.paths import WGS84

TEMPLATES = Path(__file__).with_name("templates")
FRAME_MIN = 10
ACROSS = 1000  # units of the drawing
MOST_LINES = 150  # in one frame; more would hide the map


def opening_view(
    spots: pd.DataFrame,
    openings: pd.DataFrame,
    *,
    band: str = "6m",
    mechanism: str = "ES",
    opening: int | None = None,
    patches: pd.DataFrame | None = None,
    home: str = "",
) -> str:
    """Page (HTML) that shows where one opening was bent, in steps of ten minutes: the crowd and its patches.

    Parameters
    ----------
    spots : DataFrame
        Tagged spots with their `opening`.
    openings : DataFrame
        As `find_openings` leaves it.
    band, mechanism : str
        Series to choose from when no opening is named: the confirmed one with most paths.
    opening : int, optional
        Number of the opening.
    patches : DataFrame, optional
        As `find_patches` gives them: extent, drift and their errors, drawn where the layer was.
    home : str, optional
        Locator that is marked.

    Raises
    ------
    ValueError
        If there is no such opening to show.
    """
    chosen = _choose(openings, band=band, mechanism=mechanism, opening=opening)
    rows = spots[spots["opening"] == chosen["opening"]]
    if "doubt" in rows:
        rows = rows[rows["doubt"] == ""]
    paths, code = grid.unique_paths(rows)
    if paths.empty:
        raise ValueError(f"opening {chosen['opening']} has no path with a locator at both ends")
    points = grid.great_circles(paths, step_km=60)
    weight = grid.shared_out(np.bincount(code[code >= 0]), points)
    ground = grid.ground_for(
        points["lon"], points["lat"], weight=weight, home=home, cell_km=50, margin_km=200, tallest=0.72
    )
    frames = _frames(rows, code, points, ground)
    if patches is not None:
        own = patches[patches["opening"] == chosen["opening"]]
        frames = [frame | _patches(own, frame["moment"], ground) for frame in frames]
    height = round(ACROSS * np.ptp(ground.y_edges) / np.ptp(ground.x_edges))
    return _template().render(
        **_texts(chosen, frames, n_paths=len(paths)),
        frames=frames,
        width=ACROSS,
        height=height,
        land=_outline_path(outline("land", ground), ground),
        coast=_outline_path(outline("coast", ground), ground),
        borders=_outline_path(outline("borders", ground), ground),
        home=_home(home, ground),
    )


def shows(openings: pd.DataFrame, *, band: str = "6m", mechanism: str = "ES") -> bool:
    """Whether there is an opening that `opening_view` would choose by itself."""
    return bool(_candidates(openings, band=band, mechanism=mechanism).any())


def _candidates(openings: pd.DataFrame, *, band: str, mechanism: str) -> pd.Series:
    wanted = openings["band"].astype(str).eq(band) & openings["mechanism"].astype(str).eq(mechanism)
    return wanted & openings["grade"].eq("confirmed") & openings["scope"].eq(REGION)


def _choose(openings: pd.DataFrame, *, band: str, mechanism: str, opening: int | None) -> pd.Series:
    if opening is not None:
        rows = openings[openings["opening"] == opening]
        wanted = f"opening {opening}"
    else:
        rows = openings[_candidates(openings, band=band, mechanism=mechanism)]
        wanted = f"confirmed opening by {words.series(band_name=band, mechanism=mechanism)}"
    if rows.empty:
        raise ValueError(f"there is no {wanted} to show")
    return style.top(rows, "n_paths")


def _frames(
    rows: pd.DataFrame, code: NDArray, points: pd.DataFrame, ground: grid.Ground
) -> list[dict[str, Any]]:
    """Each ten minutes from the first report to the last: its words, its lines and its midpoints."""
    start = rows["time"].min().floor(f"{FRAME_MIN}min")
    slot = ((rows["time"] - start).dt.total_seconds() // (60 * FRAME_MIN)).astype(int).to_numpy()
    x, y = _on_paper(*grid.project(ground.plane, points["lon"], points["lat"]), ground)
    pieces = {path: _line(x[own], y[own]) for path, own in points.groupby("path").indices.items()}
    middle = {
        path: (x[own[len(own) // 2]], y[own[len(own) // 2]])
        for path, own in points.groupby("path").indices.items()
    }
    frames = []
    for k in range(slot.max() + 1):
        heard = np.unique(code[(slot == k) & (code >= 0)])
        moment = start + pd.Timedelta(minutes=k * FRAME_MIN)
        lines = sorted(pieces[path] for path in heard)
        few = np.linspace(0, len(lines) - 1, min(len(lines), MOST_LINES)).astype(int)
        frames.append(
            {
                "moment": moment,
                "words": f"{moment:%H:%M} UTC, {style.counted(len(heard), 'path')}",
                "paths": "".join(lines[k] for k in few),
                "middles": sorted({middle[path] for path in heard}),
            }
        )
    return frames


def _patches(own: pd.DataFrame, moment: pd.Timestamp, ground: grid.Ground) -> dict[str, Any]:
    """The patches that a frame falls into: discs with their errors, and where they go to in an hour."""
    now = own[(own["start"] < moment + pd.Timedelta(minutes=FRAME_MIN)) & (own["end"] >= moment)]
    unit = ACROSS / np.ptp(ground.x_edges) * 1000  # of the drawing, in a kilometre
    found = []
    for row in now[now["radius_km"].notna()].to_dict("records"):
        late_h = (moment - (row["start"] + (row["end"] - row["start"]) / 2)) / pd.Timedelta(hours=1)
        moves = row["verdict"] == "moving"
        at = _moved(row, hours=late_h, toward=row["toward_deg"]) if moves else (row["lon"], row["lat"])
        there = {"lon": at[0], "lat": at[1], "speed_ms": row["speed_ms"]}
        tips = (
            [_moved(there, hours=1.0, toward=row[f"toward_{end}"]) for end in ("deg", "low", "high")]
            if moves
            else []
        )
        x, y = _on_paper(*grid.project(ground.plane, *zip(at, *tips, strict=True)), ground)
        found.append(
            {
                "at": (x[0], y[0]),
                "radii": [round(row[f"radius_{end}"] * unit, 1) for end in ("km", "low", "high")],
                "arrow": list(zip(x[1:], y[1:], strict=True)),
            }
        )
    return {"patches": found}


def _moved(row, *, hours: float, toward: float) -> tuple[float, float]:
    """Longitude and latitude after some hours of drift; before, where they are negative."""
    metres = row["speed_ms"] * 3600 * hours
    lon, lat, _ = WGS84.fwd(row["lon"], row["lat"], toward, metres)
    return lon, lat


def _texts(chosen: pd.Series, frames: list[dict[str, Any]], *, n_paths: int) -> dict[str, str]:
    series = words.series(band_name=str(chosen["band"]), mechanism=str(chosen["mechanism"]))
    moment = f"{words.date(chosen['start'])}, {chosen['start']:%H:%M} to {chosen['end']:%H:%M} UTC"
    title = f"{style.headline(series)}, {moment}"
    return {
        "title": title,
        "what": f"{style.counted(n_paths, 'path')}. Grey: the middles of the paths heard in ten minutes, where the "
        "layer bent them; paler, those of the half-hour before. Tinted disc: a patch as large as its crowd says, "
        "between the dashed rings nine times in ten. Arrow: where it drifts in an hour, its head as wide as that "
        "is uncertain; none where it may as well stand still.",
        "alt": f"{title}: {n_paths} paths in {len(frames)} steps of ten minutes.",
        "foot": "Only what was heard is drawn: where no station listens, a patch cannot be seen.",
    }


def _on_paper(x, y, ground: grid.Ground) -> tuple[NDArray, NDArray]:
    unit = ACROSS / np.ptp(ground.x_edges)
    across = np.round((np.asarray(x) - ground.x_edges[0]) * unit, 1)
    return across, np.round((ground.y_edges[-1] - np.asarray(y)) * unit, 1)


def _line(x: NDArray, y: NDArray) -> str:
    return "M" + "L".join(f"{a:g} {b:g}" for a, b in zip(x, y, strict=True))


def _outline_path(shape: BaseGeometry, ground: grid.Ground) -> str:
    """Outline as the text that an SVG path takes; details below a third of a unit are left out."""
    small = shapely.simplify(shape, np.ptp(ground.x_edges) / ACROSS / 3)
    pieces = []
    for part in shapely.get_parts(small):
        rings = [part.exterior, *part.interiors] if part.geom_type == "Polygon" else [part]
        for ring in rings:
            if ring.geom_type in ("LineString", "LinearRing"):
                x, y = shapely.get_coordinates(ring).T
                pieces.append(_line(*_on_paper(x, y, ground)))
    return "".join(pieces)


def _home(home: str, ground: grid.Ground) -> tuple[float, float] | None:
    if not home:
        return None
    place = locators.centre(pd.Series([home])).iloc[0]
    x, y = _on_paper(*grid.project(ground.plane, [place["lon"]], [place["lat"]]), ground)
    return float(x[0]), float(y[0])


def _template() -> jinja2.Template:
    loader = jinja2.FileSystemLoader(TEMPLATES)
    return jinja2.Environment(loader=loader, autoescape=True, trim_blocks=False).get_template(
        "opening_view.html.j2"
    )
