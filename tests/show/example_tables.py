"""The charts' invented tables completed with what words need: doubts, estimates, first signs."""

from __future__ import annotations

import numpy as np
import pandas as pd

from analysis.show.wording.key_numbers import key_numbers
from tests.show import examples

HOME = "IN93kd"


def spots() -> pd.DataFrame:
    """The invented spots with an opening only where sporadic E was called, none of them doubted."""
    table = examples.spots()
    return table.assign(doubt="", opening=table["opening"].where(table["mechanism"] == "ES"))


def estimates() -> pd.DataFrame:
    """Peaks, season dates, the rule of thumb over land and sea, one estimate refused."""
    nan = float("nan")
    rows = [
        ("morning peak", "6m", "ES", "all", 10.5, 9.5, 11.5, "solar hour", "ok", ""),
        ("evening peak", "6m", "ES", "all", 18.0, 17.0, 19.0, "solar hour", "ok", ""),
        ("season start", "6m", "ES", "all", 128, 120, 136, "day of year", "ok", ""),
        ("season peak", "6m", "ES", "all", 172, 165, 180, "day of year", "ok", ""),
        ("season end", "6m", "ES", "all", 228, 220, 237, "day of year", "ok", ""),
        (
            "winter rise",
            "6m",
            "ES",
            "all",
            nan,
            nan,
            nan,
            "times",
            "refuse",
            "too few winter openings to tell",
        ),
        (
            *("sunrise over afternoon on land paths", "2m", "TR", "land"),
            *(3.2, 1.9, 5.2, "times", "supported", "p 0.004 after Holm"),
        ),
        (
            *("afternoon over sunrise on sea paths", "2m", "TR", "sea"),
            *(1.1, 0.7, 1.7, "times", "cannot tell", "p 0.300 after Holm"),
        ),
        ("land and sea differ", "2m", "TR", "land", nan, nan, nan, "", "supported", "p 0.002 after Holm"),
    ]
    columns = ["what", "band", "mechanism", "path_type", "value", "low", "high", "unit", "verdict", "reason"]
    return pd.DataFrame(rows, columns=columns).assign(n=4, method="draws", tier="A")


def tables() -> dict:
    """Every table that `key_numbers` wants, with home and zone."""
    return {
        "spots": spots(),
        "account": examples.account(),
        "openings": examples.openings(),
        "days": examples.days(),
        "listening": examples.listening(),
        "daily": examples.daily(),
        "season": examples.season(),
        "seasons": examples.seasons(),
        "estimates": estimates(),
        "windows": examples.windows(),
        "hours": examples.hours(),
        "leads": examples.leads(),
        "indicators": examples.indicators(),
        "home": HOME,
        "zone": "Europe/Paris",
    }


def numbers(found: dict) -> dict:
    """Key numbers of such tables."""
    about = {name: found[name] for name in ("home", "zone")}
    return key_numbers({name: table for name, table in found.items() if name not in about}, **about)


def contacts_only() -> dict:
    """The same tables as a log of contacts alone leaves them: everything fitted is refused."""
    full = tables()
    nobody = "contacts alone show when you worked something, not when the band was shut"
    blank = {
        "chance": np.nan,
        "low": np.nan,
        "high": np.nan,
        "tier": "C",
        "verdict": "refuse",
        "reason": nobody,
    }
    first = {
        name: full[name].groupby(["band", "mechanism"]).head(1)
        for name in ("daily", "season", "windows", "hours")
    }
    refused = {name: table.assign(**blank) for name, table in first.items()}
    left_over = full["estimates"].head(1)
    return (
        full
        | refused
        | {
            "spots": full["spots"].assign(kind=pd.Categorical(["worked"] * len(full["spots"]))),
            "listening": full["listening"].iloc[:0],
            "seasons": full["seasons"].iloc[:0],
            "indicators": full["indicators"].query("verdict == 'refuse'"),
            "estimates": left_over.assign(
                value=np.nan, low=np.nan, high=np.nan, tier="C", verdict="refuse", reason=nobody
            ),
        }
    )


def reliability() -> pd.DataFrame:
    """Forecasts of 6 m sporadic E that hold, but for one group that came true less often; one thin group."""
    chance = np.arange(0.05, 1, 0.1)
    share = np.where(np.arange(10) == 5, 0.2, chance)
    table = pd.DataFrame({"tenth": range(10), "n": 80, "chance": chance, "share": share})
    table = table.assign(low=(share - 0.15).clip(min=0), high=(share + 0.15).clip(max=1), at_least=4)
    table.loc[2, "n"] = 7
    return table.assign(band="6m", mechanism="ES", direction="all", seasons=6)


def two_seasons(*, south=False) -> pd.DataFrame:
    """Six runs of 30 days; the second season surely had more in the fourth and fewer in the last."""
    table = pd.DataFrame({"season_day": np.arange(-93, 87, 30), "n_blocks": [12, 12, 12, 12, 12, 5]})
    solstice = pd.Timestamp("2001-12-21" if south else "2001-06-21")
    table["date"] = [f"{solstice + pd.Timedelta(days=int(day)):%m-%d}" for day in table["season_day"]]
    table["share_first"] = [0.0, 0.02, 0.06, 0.05, 0.04, 0.02]
    table["share_second"] = [0.001, 0.025, 0.05, 0.13, 0.045, 0.0]
    table["verdict"] = ["cannot tell"] * 3 + ["more", "cannot tell", "fewer"]
    about = {"band": "6m", "mechanism": "ES", "path_type": "all", "first": 2023, "second": 2024}
    return table.assign(p=0.5, p_holm=0.9, **about)


def published() -> pd.DataFrame:
    """Our shape and a published one, higher from 3 to 6 o'clock and around the 100th season day."""
    frames = []
    for by, x in (("hour", np.arange(0.25, 24, 0.5)), ("season_day", np.arange(-100.0, 131))):
        own = 1 + np.sin(x / x.max() * np.pi)
        table = pd.DataFrame({"x": x, "own": own, "own_low": own * 0.7, "own_high": own * 1.4})
        away = (x > 3) & (x < 6) if by == "hour" else np.abs(x - 100) < 8
        frames.append(table.assign(by=by, published=np.where(away, own * 1.6, own * 1.1), disagrees=away))
    return pd.concat(frames, ignore_index=True).assign(band="6m", mechanism="ES", path_type="all")
