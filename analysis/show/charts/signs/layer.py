"""Picture of the layer: what a skip distance says of its frequency, and which bands that carries."""

from __future__ import annotations

import numpy as np
import pandas as pd

from analysis.find.signs.layer import BAND_MHZ, layer_bound
from analysis.physics.sporadic_e import SOFT_EDGE_KM
from analysis.show.charts import style
from analysis.show.charts.picture import Picture, finished, words_only
from analysis.show.wording import words

SHORTEST_KM, BIN_KM = 400.0, 100.0
BANDS = ("4m", "2m")


def layer_chart(muf: pd.DataFrame, chain: pd.DataFrame, *, band: str = "6m", width: str = "full") -> Picture:
    """Highest usable frequency by the shortest skip of a band, and how often the skip was so short.

    Parameters
    ----------
    muf : DataFrame
        As `find.signs.layer.layer_bounds` makes it.
    chain : DataFrame
        As `fit.signs.chain.chain_table` makes it.
    band : str
    """
    slots = muf[muf["band"] == band]
    if slots.empty:
        reason = f"No report by one hop of sporadic E on {words.band(band)} was found."
        return words_only("layer", reason, title="What the layer bore cannot be said", width=width)
    led = chain[(chain["band"] == band) & (chain["verdict"] == "ok")].sort_values(["upper", "skip_km"])
    heading = {
        "title": _title(led, band),
        "subtitle": f"Skip on {words.band(band)}, the layer frequency it needs, and the highest frequency that layer carries",
        "foot": "Secant law; line: a mirror at 110 km, band: 90 to 120 km. Bars: quarter-hours of the reports by their "
        "shortest hop. A lower bound: the layer may have been denser than anybody showed.",
    }
    km = np.linspace(SHORTEST_KM, SOFT_EDGE_KM[0], 200)
    foes, _, _, top, low, high = layer_bound(km, freq_mhz=BAND_MHZ[band])
    with style.look(width):
        figure = style.sheet(**heading, body_mm=72, width=width)
        axes, below = figure.subplots(2, 1, sharex=True, height_ratios=[3, 1])
        axes.fill_between(km, low, high, color=style.VERMILION, alpha=0.2, linewidth=0)
        axes.plot(km, top, color=style.VERMILION, label="highest usable")
        axes.plot(km, foes, color=style.BLUE, linestyle=(0, (4, 1.5)), label="layer (critical)")
        for name in BANDS:
            axes.axhline(BAND_MHZ[name], color=style.GREY, linewidth=0.8)
            axes.text(km[-1], BAND_MHZ[name], words.band(name), ha="right", va="bottom", color=style.GREY)
        axes.set_ylabel("MHz")
        axes.set_ylim(0, 170)
        axes.legend(loc="upper center")
        below.hist(slots["shortest_km"], bins=np.arange(SHORTEST_KM, km[-1] + 1, BIN_KM), color=style.SKY)
        below.set_ylabel("quarters")
        below.set_xlabel("shortest hop [km]")
    marks = np.array([500.0, 800.0, 1000.0])
    bound = layer_bound(marks, freq_mhz=BAND_MHZ[band])
    alt = " ".join(
        f"{km:.0f} km: layer at least {f:.1f} MHz, carries {t:.0f} MHz."
        for km, f, t in zip(marks, bound[0], bound[3], strict=True)
    )
    return finished(
        "layer", figure, heading, f"{alt} {' '.join(map(_told, led.to_dict('records')))}", width=width
    )


def _title(led: pd.DataFrame, band: str) -> str:
    if led.empty:
        return f"The shorter the skip on {words.band(band)}, the higher the band that may follow"
    row = led.iloc[0]
    return (
        f"{words.band(row['upper'])} followed within two hours in {words.percent(row['chance'])} of openings once the skip "
        f"on {words.band(band)} was {words.count(row['skip_km'])} km or less"
    )


def _told(row: dict) -> str:
    return (
        f"{words.band(row['upper'])} within two hours of a skip of {words.count(row['skip_km'])} km: {style.chance(row)}, "
        f"{row['n_led']} of {row['n']}, median {words.count(row['lead_min'])} min; {words.percent(row['chance_longer'])} "
        f"of {row['n_longer']} openings that stayed longer."
    )
