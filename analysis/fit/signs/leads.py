"""Which signs come before voice by more than chance, and which only because more people send them."""

from __future__ import annotations

import numpy as np
import pandas as pd

from analysis.find.signs.first import AGAINST
from analysis.find.signs.kinds import SIGNS, VOICE
from analysis.fit.signs import blocks

LEAST_OPENINGS = 6  # with sign and voice; a judgement: below it one opening decides
KEYS = ["scope", "band", "mechanism", "sign"]
SURELY = 0.025  # one-sided, which is 5 % both ways
LEADS, CHANCE = "comes first", "chance"
NO_MORE = "no more than more operators explain"
METHOD = (
    f"excess over all orders of the same reports and of the same operators, the harder one; {blocks.METHOD}"
)


def leads_table(signs: pd.DataFrame) -> pd.DataFrame:
    """Lead of each sign over voice beyond chance, and how often it came first, per band and mechanism.

    Parameters
    ----------
    signs : DataFrame
        As `find.signs.first.first_signs` makes it.

    Returns
    -------
    DataFrame
        `scope band mechanism sign against n_openings n_both median_min expected_min excess_min low_min high_min
        p_holm share_first share_expected excess_share low_share high_share p_share verdict reason method`.
        `median_min` is the lead as seen, which says nothing by itself; `excess_min` is the mean lead
        beyond the mean of `expected_min`, with its 90 % interval; `against` names the harder of the two
        chances, and the row's numbers are those against it. p values are one-sided, after Holm over the
        whole table, minutes and shares together. The verdict is "comes first" where p_holm is at most
        0.025, chance otherwise, refuse where too few openings or seasons allow no interval.
    """
    told = [
        dict(zip(KEYS, key, strict=True)) | _harder(own)
        for key, own in signs[signs["sign"] != VOICE].groupby(KEYS, sort=False)
    ]
    columns = [*KEYS, *_harder(signs.iloc[:0])]
    table = pd.DataFrame(told, columns=columns)
    adjusted = blocks.holm(table[["p_holm", "p_share"]].to_numpy(float))
    table["p_holm"], table["p_share"] = adjusted[:, 0], adjusted[:, 1]
    surely = (table["p_holm"] <= SURELY) & (table["low_min"] > 0)
    table["verdict"] = np.select([table["excess_min"].isna(), surely], ["refuse", LEADS], CHANCE)
    few = f"fewer than {LEAST_OPENINGS} openings, or {blocks.LEAST_BLOCKS} spells of days, have both this sign and voice"
    table["reason"] = table["verdict"].map({"refuse": few, CHANCE: NO_MORE, LEADS: ""})
    order = {sign: place for place, sign in enumerate(SIGNS)}
    table = table.sort_values(
        KEYS,
        key=lambda column: column.map(order) if column.name == "sign" else column,
    )
    return table.assign(method=METHOD).reset_index(drop=True)


def _harder(own: pd.DataFrame) -> dict:
    """One sign's numbers against the chance that explains more of its lead."""
    found = [
        _against(part) | {"against": name} for name in AGAINST if len(part := own[own["against"] == name])
    ]
    if not found:
        return _against(own) | {"against": ""}
    return max(found, key=lambda one: (one["p_holm"], -one["excess_min"]) if one["n_both"] else (0, 0))


def _against(own: pd.DataFrame) -> dict:
    """Numbers of one sign against one chance, p values not yet corrected."""
    both = own[own["lead_min"].notna()]
    enough = len(both) >= LEAST_OPENINGS
    excess = _mean(both, "lead_min", "expected_min") if enough else blocks.UNKNOWN
    share = _mean(own, "first", "expected_first") if enough else blocks.UNKNOWN
    return {
        "against": "",
        "n_openings": len(own),
        "n_both": len(both),
        "median_min": both["lead_min"].median(),
        "expected_min": both["expected_min"].mean(),
        "excess_min": excess.value,
        "low_min": excess.low,
        "high_min": excess.high,
        "p_holm": excess.p,
        "share_first": own["first"].mean(),
        "share_expected": own["expected_first"].mean(),
        "excess_share": share.value,
        "low_share": share.low,
        "high_share": share.high,
        "p_share": share.p,
    }


def _mean(rows: pd.DataFrame, seen: str, expected: str) -> blocks.Known:
    return blocks.mean(rows[seen] - rows[expected], blocks.blocks(rows["start"], rows["season"]))
