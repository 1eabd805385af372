"""Picture of how the patches of sporadic E moved: direction and speed of each, forenoon and later."""

from __future__ import annotations

import numpy as np
import pandas as pd
from matplotlib.projections.polar import PolarAxes

from analysis.find.indicators import median_interval
from analysis.show import style, words
from analysis.show.headings import POINTS
from analysis.show.picture import Picture, words_only
from analysis.tag import sun

PANELS = {
    "before noon": (0.0, 12.0),
    "after noon": (12.0, 24.0),
}  # local solar time of the patch's first report
LEAST = 6  # patches below which no median is stated


def drift_chart(patches: pd.DataFrame, *, width: str = "full") -> Picture:
    """Direction and speed of every patch that certainly moved.

    Parameters
    ----------
    patches : DataFrame
        As `find.patches.find_patches` makes it.
    """
    moving = patches[patches["verdict"] == "moving"]
    if len(moving) < LEAST:
        reason = (
            "Too few patches were seen over enough different paths, for long enough, to say how they moved. "
            "More stations that report at the same time would help."
        )
        return words_only("drift", reason, title="The drift of sporadic E cannot be drawn", width=width)
    hour = sun.solar_hour(pd.to_datetime(moving["start"], utc=True), lon=moving["lon"].to_numpy(float))
    parts = {name: moving[(hour >= low) & (hour < high)] for name, (low, high) in PANELS.items()}
    speed, low, high = median_interval(moving["speed_ms"].to_numpy())
    lead = "The patches of sporadic E that surely moved"
    title = f"{lead} did so at a median {words.count(speed)} m/s, most often to the {toward(moving)}"
    what = "Where each patch drifted to and how fast [m/s], by local solar time"
    foot = (
        f"{len(moving)} of {words.count(len(patches))} patches whose drift is certain; 90 % interval of the "
        f"median speed: {words.count(low)} to {words.count(high)} m/s. Slow patches and those under few paths "
        "cannot be told from standing ones."
    )
    top = float(moving["speed_ms"].quantile(0.98))
    with style.look(width):
        body = style.WIDTH_MM[width] / 2 * 0.95 + 8
        figure = style.sheet(title=title, subtitle=what, foot=foot, body_mm=min(body, 78), width=width)
        panels = figure.subplots(1, 2, subplot_kw={"projection": "polar"})
        for axes, (name, part) in zip(panels, parts.items(), strict=True):
            _panel(axes, part, top)
            axes.set_title(f"{name} ({style.counted(len(part), 'patch', 'patches')})", loc="center")
    alt = f"{title}. {' '.join(_told(name, part) for name, part in parts.items())}"
    return Picture("drift", figure, title, f"{what}. {foot}", alt, width)


def toward(patches: pd.DataFrame) -> str:
    """The eighth of the compass into which most patches drifted, in words."""
    eighth = np.floor((patches["toward_deg"] + 22.5) % 360 / 45).astype(int)
    return POINTS[int(np.bincount(eighth, minlength=8).argmax())]


def _panel(axes: PolarAxes, part: pd.DataFrame, top: float) -> None:
    axes.set_theta_zero_location("N")
    axes.set_theta_direction(-1)
    shown = part[part["speed_ms"] <= top]
    axes.plot(
        np.radians(shown["toward_deg"]), shown["speed_ms"], "o", color=style.BLUE, markersize=3, alpha=0.6
    )
    axes.set_ylim(0, top * 1.05)
    axes.set_yticks([tick for tick in (25, 50, 75, 100, 150) if tick < top])
    axes.set_rlabel_position(67)
    axes.set_xticks(np.radians([0, 90, 180, 270]), ["N", "E", "S", "W"])
    axes.tick_params(axis="x", pad=-3)
    axes.grid(True)
    axes.spines["polar"].set_linewidth(0.4)


def _told(name: str, part: pd.DataFrame) -> str:
    speed, low, high = median_interval(part["speed_ms"].to_numpy())
    if np.isnan(speed):
        return f"{style.headline(name)}: too few patches to say."
    return (
        f"{style.headline(name)}: {style.counted(len(part), 'patch', 'patches')}, "
        f"most often to the {toward(part)}, "
        f"median {words.count(speed)} m/s ({words.count(low)} to {words.count(high)})."
    )
