"""One key number: what it is, how sure, and how words print it."""

from __future__ import annotations

import re
from typing import Any

import pandas as pd

from analysis.fit.signs.leads import NO_MORE
from analysis.show.wording import words

MOST_PER_MECHANISM = 2
NO_CHANCE = (
    "only contacts are known, not who was listening while nothing was heard, so no chance can be stated"
)


def number(
    value=None,
    *,
    text: str | None = None,
    low=None,
    high=None,
    n=None,
    unit: str = "",
    noun: str = "",
) -> dict[str, Any]:
    """A key number; `text` is how words print it, by default the whole number with its `noun`, if any.

    It is ok, of no tier; where a fitted row is behind it, the row's `tier`, `verdict` and `reason` are
    laid over it (`judged`).
    """
    if text is None:
        text = words.counted(value, noun) if noun else words.count(value)
    return {
        "value": _plain(value),
        "low": _plain(low),
        "high": _plain(high),
        "n": _plain(n),
        "unit": unit or f"{noun}s" * bool(noun),
        "text": text,
        "tier": "",
        "verdict": "ok",
        "reason": "",
    }


def judged(row) -> dict[str, str]:
    """Tier, verdict and reason of a fitted row, to be laid over its key numbers."""
    return {"tier": row["tier"], "verdict": row["verdict"], "reason": reason_of(row)}


def refused(reason: str, *, unit: str = "", tier: str = "") -> dict[str, Any]:
    """A key number that the data cannot carry: no value, no text, the reason in words."""
    return number(text="", unit=unit) | {"tier": tier, "verdict": "refuse", "reason": reason}


def may_state(row) -> bool:
    """Whether a row of a fitted table may be printed as a chance: not refused, and somebody listened."""
    return row["verdict"] != "refuse" and row["tier"] != "C"


def reason_of(row) -> str:
    """The row's reason as text; a blank one read back from a file is NaN."""
    return row["reason"] if isinstance(row["reason"], str) else ""


def refusal(row, *, unit: str = "") -> dict[str, Any]:
    """A fitted row that may not be printed, with its own reason or the reason of its tier."""
    return refused(reason_of(row) or NO_CHANCE, unit=unit, tier=row["tier"])


def series_key(*, band: str, mechanism: str, path_type: str = "all") -> str:
    """Name of a series inside key numbers: `6m_es`, `2m_tr_sea`."""
    return "_".join([band, mechanism.lower()] + ([] if path_type in ("", "all") else [path_type]))


def all_series(numbers: dict[str, dict[str, Any]]) -> list[str]:
    """Keys of every series that was fitted or refused."""
    return [name.removesuffix("_name") for name, one in numbers.items() if one["unit"] == "series"]


def stated_series(numbers: dict[str, dict[str, Any]]) -> list[str]:
    """Keys of the series whose chances may be stated."""
    return [key for key in all_series(numbers) if numbers[f"{key}_name"]["verdict"] != "refuse"]


def main_series(numbers: dict[str, dict[str, Any]]) -> list[str]:
    """Keys of the series to write about: of each mechanism the two with most opening days, the sure ones first.

    Mixed paths, at which nobody aims, are left out where there are others.
    """
    stated = sorted(stated_series(numbers), key=lambda key: -_opening_days(numbers, key))
    pure = [key for key in stated if not key.endswith("_mixed")] or stated
    mechanism = {key: key.split("_")[1] for key in pure}
    best = [key for key in pure if _rank(pure, key, mechanism) < MOST_PER_MECHANISM]
    return sorted(best, key=lambda key: (numbers[f"{key}_name"]["verdict"] != "ok", mechanism[key] != "es"))


def _rank(keys: list[str], key: str, mechanism: dict[str, str]) -> int:
    return [other for other in keys if mechanism[other] == mechanism[key]].index(key)


def _opening_days(numbers: dict[str, dict[str, Any]], key: str) -> int:
    """Opening days of a series over all seasons."""
    counted = re.compile(re.escape(key) + r"_\d+_opening_days")
    return sum(one["value"] or 0 for name, one in numbers.items() if counted.fullmatch(name))


def caught_pairs(numbers: dict[str, dict[str, Any]]) -> list[str]:
    """Band and mechanism (`6m_es`) of everything on VHF that brought a confirmed opening, the most first."""
    found = {
        name.removesuffix("_openings"): one["value"]
        for name, one in numbers.items()
        if name.endswith("_openings") and words.is_vhf(name.split("_")[0])
    }
    return sorted(found, key=lambda pair: -found[pair])


def refusals(numbers: dict[str, dict[str, Any]]) -> list[tuple[str, str]]:
    """Names of the refused series that brought openings, and why: one entry for each reason."""
    caught, found = caught_pairs(numbers), dict[str, list[str]]()
    for key in all_series(numbers):
        one = numbers[f"{key}_name"]
        if one["verdict"] == "refuse" and "_".join(key.split("_")[:2]) in caught:
            found.setdefault(one["reason"], []).append(one["text"])
    return [(words.listed(names), reason) for reason, names in found.items()]


def main_refusal(numbers: dict[str, dict[str, Any]]) -> str:
    """Why the series that brought most openings may not be given a chance, with its name; without a full stop."""
    for pair in caught_pairs(numbers):
        for key in all_series(numbers):
            one, mine = numbers[f"{key}_name"], f"{key}_".startswith(f"{pair}_")
            if mine and one["verdict"] == "refuse" and one["reason"]:
                return f"{one['text']}: {one['reason'].rstrip('.')}"
    return NO_CHANCE


def leading_signs(numbers: dict[str, dict[str, Any]], *, per_series: int = 2) -> list[str]:
    """Keys of the first signs that surely came before voice, the best known ones of each series to write about."""
    return _signs(numbers, per_series=per_series, led=True)


def chance_signs(numbers: dict[str, dict[str, Any]], *, per_series: int = 2) -> list[str]:
    """Keys of the first signs whose lead over voice is no more than chance explains."""
    return _signs(numbers, per_series=per_series, led=False)


def _signs(numbers: dict[str, dict[str, Any]], *, per_series: int, led: bool) -> list[str]:
    main = main_series(numbers)
    sure = [key for key in main if numbers[f"{key}_name"]["verdict"] == "ok"] or main
    pairs = dict.fromkeys("_".join(key.split("_")[:2]) for key in sure)
    signs = [
        name.removesuffix("_lead")
        for name, one in numbers.items()
        if name.endswith("_lead") and (one["value"] is not None if led else one["reason"] == NO_MORE)
    ]
    signs.sort(key=lambda sign: -numbers[f"{sign}_both"]["value"])
    return [
        sign for pair in pairs for sign in [one for one in signs if one.startswith(f"{pair}_")][:per_series]
    ]


def chance_text(chance: float, *, low: float, high: float, tier: str) -> str:
    """A chance with its interval in words; without monitors it is marked as indicative."""
    about = [] if words.percent(low) == words.percent(high) else [words.percents(low=low, high=high)]
    about += ["indicative"] if tier != "A" else []
    return words.percent(chance) + (f" ({', '.join(about)})" if about else "")


def _plain(value):
    """A value that JSON can hold: NumPy scalars unpacked, what is missing is None, six digits kept."""
    if value is None or pd.isna(value):
        return None
    value = value.item() if hasattr(value, "item") else value
    return float(f"{value:.6g}") if isinstance(value, float) else value
