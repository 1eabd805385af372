"""Which signs are worth listening to: how often the opening followed, over the chance at that hour of that season."""

from __future__ import annotations

import numpy as np
import pandas as pd
from scipy.stats import t

from analysis.find.signs.announced import ABOUT
from analysis.find.signs.quarters import AT_ONCE, ONSET, WARNING
from analysis.fit.signs import blocks
from analysis.fit.signs.leads import SURELY

LEAST_WARNINGS, LEAST_FOLLOWED = 10, 3  # judgement: below it one evening decides
LEAST_ONSETS = 10  # of an opening, before anything is said to announce it (judgement)
HALF = 0.5  # added to both sides of a ratio, so that none is infinite; draws it a little toward one
USEFUL, CHANCE = "useful", "chance"
NO_MORE = "no more often than at that hour of that part of the season"
NOT_SURE = "more often than by chance, but not surely so among all the signs looked at"
METHOD = (
    "warnings followed within 15 to 120 minutes over those expected by hour, part of the season and season; "
    f"test by ten-day blocks, Holm over all signs; {blocks.METHOD}"
)
NUMBERS = [
    *("n_warnings", "followed", "expected", "lift", "lift_low", "lift_high", "p_holm", "followed_share"),
    *(
        "false_share",
        "at_once_share",
        "n_onsets",
        "warned_share",
        "gain",
        "lead_min",
        "lead_low",
        "lead_high",
    ),
    *("seasons", "seasons_above"),
]
COLUMNS = ["rank", *ABOUT, *NUMBERS, "stable", "verdict", "reason", "method"]


def indicators_table(announced: pd.DataFrame) -> pd.DataFrame:
    """Every sign for every opening it may announce, the most useful first.

    Parameters
    ----------
    announced : DataFrame
        As `find.signs.announced.announced` makes it.

    Returns
    -------
    DataFrame
        `rank`, 1 for the best of the useful ones of a target, NA for the others; the columns of
        `find.signs.announced.ABOUT`; `n_warnings`, `followed` of them, `expected` by chance; `lift`, their
        ratio, with its 90 % interval; `p_holm`, one-sided; `followed_share`, `false_share` (false-alarm
        ratio), `at_once_share` (the opening was there within 15 minutes); `n_onsets` before which the sign
        could have been noticed and `warned_share` of them; `gain`, that share beyond chance, by which they
        are ranked; `lead_min` with quartiles; `seasons` with warnings and `seasons_above` chance among
        them; `stable` in words; verdict useful, chance or refuse.
    """
    keys = [name for name in ABOUT if name not in ("locator", "freq_mhz", "heading_deg")]
    told = [
        {name: own[name].iloc[0] for name in ABOUT} | _numbers(own)
        for _, own in announced.groupby(keys, sort=False)
    ]
    table = pd.DataFrame(told, columns=[*ABOUT, *NUMBERS])
    table["p_holm"] = blocks.holm(table["p_holm"].to_numpy(float))
    few = table["lift_low"].isna() | (table["n_onsets"] < LEAST_ONSETS)
    useful = (table["p_holm"] <= SURELY) & (table["lift_low"] > 1) & (table["followed"] >= LEAST_FOLLOWED)
    table["verdict"] = np.select([few, useful], ["refuse", USEFUL], CHANCE)
    why_not = table.apply(_why_not, axis=1) if len(table) else ""
    maybe = table["lift_low"] > 1
    table["reason"] = np.select([few, useful, maybe], [why_not, "", NOT_SURE], NO_MORE)
    table["stable"] = [_stable(row) for row in table.to_dict("records")]
    order = table["verdict"].map({USEFUL: 0, CHANCE: 1, "refuse": 2})
    table = table.assign(_order=order).sort_values(
        ["target_band", "mechanism", "target", "_order", "gain"], ascending=[False, True, True, True, False]
    )
    place = table[table["verdict"] == USEFUL].groupby(["target_band", "mechanism", "target"]).cumcount() + 1
    table["rank"] = place.reindex(table.index).astype("Int64")
    return table.assign(method=METHOD)[COLUMNS].reset_index(drop=True)


def _numbers(own: pd.DataFrame) -> dict:
    """Numbers of one sign for one target, p value not yet corrected."""
    warnings, onsets = own[own["what"] == WARNING], own[own["what"] == ONSET]
    n, followed, expected = len(warnings), int(warnings["hit"].sum()), float(warnings["expected"].sum())
    at_once = int((own["what"] == AT_ONCE).sum())
    low, high = _interval(warnings)
    lift = (followed + HALF) / (expected + HALF) if n >= LEAST_WARNINGS else np.nan
    warned = float(onsets["hit"].mean()) if len(onsets) else np.nan
    quartiles = warnings["minutes"].quantile([0.25, 0.5, 0.75]).to_numpy()
    by_season = warnings.groupby("season")[["hit", "expected"]].sum()
    return {
        "n_warnings": n,
        "followed": followed,
        "expected": expected,
        "lift": lift,
        "lift_low": low,
        "lift_high": high,
        "p_holm": _p(warnings, enough=n >= LEAST_WARNINGS and len(onsets) >= LEAST_ONSETS),
        "followed_share": followed / n if n else np.nan,
        "false_share": 1 - followed / n if n else np.nan,
        "at_once_share": at_once / (n + at_once) if n + at_once else np.nan,
        "n_onsets": len(onsets),
        "warned_share": warned,
        "gain": warned * (1 - 1 / lift) if n >= LEAST_WARNINGS else np.nan,
        "lead_min": quartiles[1],
        "lead_low": quartiles[0],
        "lead_high": quartiles[2],
        "seasons": len(by_season),
        "seasons_above": int((by_season["hit"] > by_season["expected"]).sum()),
    }


def _interval(warnings: pd.DataFrame) -> tuple[float, float]:
    """Ends of the 90 % interval of the lift, on the logarithm, whole seasons left out in turn."""
    if len(warnings) < LEAST_WARNINGS:
        return np.nan, np.nan
    few = warnings["season"].nunique() < blocks.SEASONS_AS_BLOCKS
    parts = warnings[["hit", "expected"]].astype(float)
    found = blocks.left_out(
        parts,
        (warnings["block"] if few else warnings["season"]).to_numpy(),
        lambda sums: np.log((sums["hit"] + HALF) / (sums["expected"] + HALF)),
    )
    return float(np.exp(found.low)), float(np.exp(found.high))


def _p(warnings: pd.DataFrame, *, enough: bool) -> float:
    """One-sided chance of so many followed warnings: what each ten days brought beyond chance, against zero."""
    if not enough:
        return np.nan
    excess = (warnings["hit"] - warnings["expected"]).groupby(warnings["block"]).sum()
    error = excess.std() * np.sqrt(len(excess))
    return float(t.sf(excess.sum() / error, len(excess) - 1)) if error > 0 else np.nan


def _why_not(row: pd.Series) -> str:
    """Why nothing can be said of a sign."""
    if row["n_warnings"] < LEAST_WARNINGS:
        return (
            f"{row['n_warnings']} warnings while its receiver was known to be on and the opening could be noticed, "
            f"of {LEAST_WARNINGS} needed; an always-on receiver or noted listening hours would help"
        )
    if row["n_onsets"] < LEAST_ONSETS:
        return f"{row['n_onsets']} openings before which it could have been heard, of {LEAST_ONSETS} needed"
    return f"warnings in fewer than {blocks.LEAST_BLOCKS} spells of days"


def _stable(row: dict) -> str:
    """Whether the sign held from season to season, in words."""
    if row["verdict"] == "refuse" or row["seasons"] < 2:
        return "not known"
    if row["seasons_above"] == row["seasons"]:
        return f"in all {row['seasons']} seasons"
    return f"in {row['seasons_above']} of {row['seasons']} seasons"
