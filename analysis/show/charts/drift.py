"""Picture of how the patches of sporadic E moved: direction and speed of each, forenoon and later."""

from __future__ import annotations

import numpy as np
import pandas as pd
from matplotlib.figure import Figure
from matplotlib.projections.polar import PolarAxes
from scipy.stats import quantile_test

from analysis.show.charts import style
from analysis.show.charts.headings import POINTS
from analysis.show.charts.picture import Picture, finished, words_only
from analysis.show.wording import words
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
        As `find.grouping.patches.find_patches` makes it.
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
    speed, low, high = _median(moving["speed_ms"])
    heading = {
        "title": f"Patches of sporadic E drifted most often to the {toward(moving)}, at a median "
        f"{words.count(speed)} m/s",
        "subtitle": "Where each patch drifted to and how fast [m/s], by local solar time",
        "foot": f"Only the {len(moving)} of {words.count(len(patches))} patches that surely moved; slow ones and "
        "those under few paths cannot be told from standing ones. 90 % interval of the median: "
        f"{words.count(low)} to {words.count(high)} m/s.",
    }
    figure = _draw(parts, heading, top=float(moving["speed_ms"].quantile(0.98)), width=width)
    told = " ".join(_told(name, part) for name, part in parts.items())
    return finished("drift", figure, heading, told, width=width)


def _draw(parts: dict[str, pd.DataFrame], heading: dict[str, str], *, top: float, width: str) -> Figure:
    with style.look(width):
        body = min(style.WIDTH_MM[width] / 2 * 0.95 + 8, 78)
        figure = style.sheet(**heading, body_mm=body, width=width)
        panels = figure.subplots(1, 2, subplot_kw={"projection": "polar"})
        for axes, (name, part) in zip(panels, parts.items(), strict=True):
            _panel(axes, part, top)
            axes.set_title(f"{name} ({style.counted(len(part), 'patch', 'patches')})", loc="center")
    return figure


def toward(patches: pd.DataFrame) -> str:
    """The eighth of the compass into which most patches drifted, in words."""
    return POINTS[int(_eighths(patches).argmax())]


def _eighths(patches: pd.DataFrame) -> np.ndarray:
    """Patches in each eighth of the compass, north first."""
    eighth = np.floor((patches["toward_deg"] + 22.5) % 360 / 45).astype(int)
    return np.bincount(eighth, minlength=8)


def _panel(axes: PolarAxes, part: pd.DataFrame, top: float) -> None:
    axes.set_theta_zero_location("N")
    axes.set_theta_direction(-1)
    shown = part[part["speed_ms"] <= top]
    axes.plot(
        np.radians(shown["toward_deg"]), shown["speed_ms"], "o", color=style.BLUE, markersize=3, alpha=0.6
    )
    axes.set_ylim(0, top * 1.05)
    axes.set_yticks([tick for tick in (25, 50, 75, 100, 150) if tick < top])
    axes.set_rlabel_position(45 * float(_eighths(shown).argmin()) + 22.5)  # where fewest patches are hidden
    axes.set_xticks(np.radians([0, 90, 180, 270]), ["N", "E", "S", "W"])
    axes.tick_params(axis="x", pad=-3)
    axes.grid(True)
    axes.spines["polar"].set_linewidth(0.4)


def _median(speed: pd.Series) -> tuple[float, float, float]:
    """Median with its 90 % interval from order statistics, free of any assumed distribution."""
    low, high = quantile_test(speed, p=0.5).confidence_interval(0.9)
    return float(speed.median()), float(low), float(high)


def _told(name: str, part: pd.DataFrame) -> str:
    if len(part) < LEAST:
        return f"{style.headline(name)}: too few patches to say."
    speed, low, high = _median(part["speed_ms"])
    return (
        f"{style.headline(name)}: {style.counted(len(part), 'patch', 'patches')}, "
        f"most often to the {toward(part)}, "
        f"median {words.count(speed)} m/s ({words.count(low)} to {words.count(high)})."
    )
