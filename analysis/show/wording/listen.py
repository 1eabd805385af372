"""Signs to listen for, in words: what, where on the dial, which way, and what follows."""

from __future__ import annotations

from typing import Any

import pandas as pd

from analysis.find.signs.announced import BAND, FIRST_VOICE, PATH
from analysis.fit.signs.indicators import USEFUL
from analysis.show.wording import words
from analysis.show.wording.number import number

MOST = 4  # that a page or card names


def sign(row: Any, *, place: bool = True) -> str:
    """`Q1ABC/B on 50.410 MHz (IN88, 339°)`; without `place`, only what and where on the dial."""
    band = words.band(row["band"])
    if row["sign"] == BAND:
        return f"any station on {band}"
    if not row["call"]:
        return f"{row['sign']} on {band}"
    by = f" at {row['listener']}" if row["sign"] == PATH else ""
    dial = f"{row['freq_mhz']:.3f} MHz" if pd.notna(row["freq_mhz"]) else band
    where = (
        f" ({words.square(row['locator'])}, {row['heading_deg']:.0f}°)" if place and row["locator"] else ""
    )
    return f"{row['call']}{by} on {dial}{where}"


def target(row: Any) -> str:
    """`voice or CW by tropo on 2 m`, `an opening by sporadic E on 2 m`."""
    what = "voice or CW by" if row["target"] == FIRST_VOICE else "an opening by"
    return f"{what} {words.series(band_name=row['target_band'], mechanism=row['mechanism'])}"


def by_chance(row: Any) -> float:
    """How often the target would have followed at those hours anyway."""
    return row["expected"] / row["n_warnings"]


def listen_numbers(indicators: pd.DataFrame | None) -> dict[str, dict[str, Any]]:
    """Key numbers of the signs worth listening to: the best of every target, then the next ones.

    `listen` counts them; `listen_1_name`, `_target`, `_share`, `_chance` and `_ahead` tell each.
    """
    if indicators is None or indicators.empty:
        return {}
    useful = indicators[indicators["verdict"] == USEFUL].sort_values(
        ["rank", "gain"], ascending=[True, False]
    )
    best = useful.groupby(["rank"], sort=False).head(MOST).head(MOST)
    found = {"listen": number(len(best))}
    for place, row in enumerate(best.to_dict("records"), start=1):
        key, n = f"listen_{place}", int(row["n_warnings"])
        lead = f"{row['lead_min']:.0f} minutes"
        found[f"{key}_name"] = number(text=sign(row), unit="name")
        found[f"{key}_target"] = number(text=target(row), unit="name")
        found[f"{key}_share"] = number(
            row["followed_share"], n=n, unit="share", text=words.percent(row["followed_share"])
        )
        found[f"{key}_chance"] = number(by_chance(row), n=n, unit="share", text=words.percent(by_chance(row)))
        found[f"{key}_ahead"] = number(row["lead_min"], n=int(row["followed"]), unit="min", text=lead)
    return found
