"""Invented, seeded tables in the shapes that the stages hand on: enough to draw every picture."""

from __future__ import annotations

import numpy as np
import pandas as pd

from analysis.fit.signs.leads import NO_MORE
from analysis.fit.signs.level import CURVE, RUNG

SEASONS = (2021, 2022, 2023, 2024)
HOME = "IN93"


def spots(*, n=6000, seed=1) -> pd.DataFrame:
    """Tagged spots around the Bay of Biscay: local reports, tropo over land and sea, sporadic E."""
    rng = np.random.default_rng(seed)
    season = rng.choice(SEASONS, n)
    day = np.clip(rng.normal(172, 38, n), 75, 275).astype(int)
    hour = np.where(rng.random(n) < 0.5, rng.normal(10.7, 2, n), rng.normal(18.2, 2, n)) % 24
    time = pd.to_datetime(pd.Series(season).astype(str) + "-01-01", utc=True)
    time = (time + pd.to_timedelta(day - 1, unit="D") + pd.to_timedelta(hour, unit="h")).dt.as_unit("us")
    kind = rng.choice(["LOS", "TR", "ES", "MS", "undetermined"], n, p=[0.2, 0.3, 0.42, 0.05, 0.03])
    reach = {
        "LOS": (60, 25),
        "TR": (450, 150),
        "ES": (1450, 320),
        "MS": (1300, 350),
        "undetermined": (700, 300),
    }
    distance = np.array([max(rng.normal(*reach[name]), 12.0) for name in kind])
    squares = np.array(
        ["IN93", "IN94", "JN03", "JN05", "IN80", "IM68", "JO01", "JO21", "JN45", "IO91", "JN18"]
    )
    sea = rng.beta(0.7, 0.7, n)
    path = np.select([sea < 0.2, sea > 0.8], ["land", "sea"], "mixed")
    return pd.DataFrame(
        {
            "time": time,
            "band": pd.Categorical(np.where(kind == "TR", "2m", rng.choice(["6m", "2m"], n, p=[0.8, 0.2]))),
            "mode": pd.Categorical(rng.choice(["FT8", "CW", "SSB"], n, p=[0.7, 0.15, 0.15])),
            "tx_call": [f"Q{number:02d}AA" for number in rng.integers(0, 60, n)],
            "rx_call": [f"Q{number:02d}ZZ" for number in rng.integers(0, 12, n)],
            "tx_locator": rng.choice(squares, n),
            "rx_locator": rng.choice(squares[:4], n),
            "kind": pd.Categorical(rng.choice(["heard", "worked"], n, p=[0.8, 0.2])),
            "distance_km": distance.astype("float32"),
            "bearing_deg": (rng.normal(40, 60, n) % 360).astype("float32"),
            "mid_lon": rng.normal(2, 4, n).astype("float32"),
            "mid_lat": rng.normal(46, 3, n).astype("float32"),
            "solar_hour": (hour % 24).astype("float32"),
            "season": season,
            "season_day": day - 172,
            "sea_share": sea.astype("float32"),
            "path_type": pd.Categorical(path),
            "mechanism": pd.Categorical(kind),
            "mechanism_p": rng.uniform(0.7, 1, n).astype("float32"),
            "hops": np.where(kind == "ES", 1, 0),
            "opening": pd.array(np.where(kind == "ES", rng.integers(1, 80, n), -1), "Int64"),
        }
    )


def listening() -> pd.DataFrame:
    """One receiver that never sleeps, one operator in the evenings, one with hours declared."""
    rows = []
    for season in SEASONS:
        start = pd.Timestamp(season, 3, 15, tz="UTC")
        rows.append(("Q01ZZ", "6m", start, start + pd.Timedelta(days=100), "monitor"))
        rows.append(
            ("Q01ZZ", "6m", start + pd.Timedelta(days=107), start + pd.Timedelta(days=200), "monitor")
        )
        for day in range(0, 200, 2):
            evening = start + pd.Timedelta(days=day, hours=17)
            rows.append(("Q02ZZ", "6m", evening, evening + pd.Timedelta(hours=4), "receptions"))
            if day % 14 == 0:
                rows.append(("Q03ZZ", "6m", evening, evening + pd.Timedelta(hours=6), "declared"))
                rows.append(("Q01ZZ", "2m", evening, evening + pd.Timedelta(hours=9), "receptions"))
    return pd.DataFrame(rows, columns=["station", "band", "start", "end", "basis"])


def openings(*, seed=2) -> pd.DataFrame:
    """Sixty openings by sporadic E on 6 m and thirty by tropo on 2 m, some across midnight."""
    rng = np.random.default_rng(seed)
    n = 90
    season = rng.choice(SEASONS, n)
    start = pd.to_datetime(pd.Series(season).astype(str) + "-01-01", utc=True)
    start = start + pd.to_timedelta(np.clip(rng.normal(172, 35, n), 80, 270), unit="D")
    minutes = rng.lognormal(4.3, 0.8, n)
    tropo = np.arange(n) >= 60
    return pd.DataFrame(
        {
            "scope": "region",
            "opening": np.arange(1, n + 1),
            "band": np.where(tropo, "2m", "6m"),
            "mechanism": np.where(tropo, "TR", "ES"),
            "start": start,
            "end": start + pd.to_timedelta(minutes, unit="min"),
            "start_censored": rng.random(n) < 0.1,
            "end_censored": rng.random(n) < 0.1,
            "duration_min": minutes * 1.1,
            "grade": rng.choice(["confirmed", "probable", "single"], n, p=[0.7, 0.2, 0.1]),
            "n_spots": rng.integers(1, 200, n),
            "n_paths": rng.integers(1, 60, n),
            "n_stations": rng.integers(1, 20, n),
            "max_km": rng.normal(1700, 200, n),
            "median_km": rng.normal(1400, 200, n),
            "path_type": np.where(tropo, rng.choice(["land", "mixed", "sea"], n), "all"),
            "mid_lat": rng.normal(46, 2, n),
            "mid_lon": rng.normal(2, 3, n),
            "joined": "IN93–JO01",
            "unusual": rng.uniform(0.5, 1, n),
        }
    )


def account() -> pd.DataFrame:
    """Three files whose rows add up."""
    rows = [
        ("club_log.adi", 1200, 1150, 20, 30),
        ("spots_2024.csv", 50000, 48000, 1500, 500),
        ("old.csv", 90, 0, 90, 0),
    ]
    return pd.DataFrame(rows, columns=["source", "rows_in", "kept", "set_aside", "duplicates"])


def set_aside() -> pd.DataFrame:
    """Rows with the reasons why they could not be used."""
    reasons = (
        ["no locator for the station heard"] * 900
        + ["time lies in the future"] * 600
        + ["no band, no frequency"] * 110
    )
    return pd.DataFrame(
        {
            "source": "spots_2024.csv",
            "source_row": range(len(reasons)),
            "field": "",
            "found": "",
            "reason": reasons,
            "repair": "",
        }
    )


def _curve(x, peaks, *, period):
    wrap = [np.abs((x - centre + period / 2) % period - period / 2) for centre, _, _ in peaks]
    return sum(high * np.exp(-0.5 * (d / wide) ** 2) for d, (_, wide, high) in zip(wrap, peaks, strict=True))


SHAPES = {
    ("6m", "ES", "all"): [(10.75, 2.3, 0.11), (18.25, 2.0, 0.09)],
    ("2m", "TR", "land"): [(6.5, 3.0, 0.12), (0, 5, 0.04)],
    ("2m", "TR", "mixed"): [(9, 6, 0.08)],
    ("2m", "TR", "sea"): [(15.0, 4.0, 0.16)],
}


def daily() -> pd.DataFrame:
    """Chance by hour: good sporadic E, tropo over land, mixed and sea (mixed provisional), 2 m ES refused."""
    frames = []
    for (band, mechanism, path), peaks in SHAPES.items():
        hour = np.arange(0.25, 24, 0.5)
        chance = 0.01 + _curve(hour, peaks, period=24)
        frame = pd.DataFrame({"hour": hour, "chance": chance, "low": chance / 1.5, "high": chance * 1.5})
        frame["n_monitored"] = (500 + 300 * np.sin(hour / 24 * 2 * np.pi)).astype(int)
        frame.loc[5:6, ["chance", "low", "high"]] = np.nan
        frame.loc[5:6, "n_monitored"] = 8
        frame = frame.assign(band=band, mechanism=mechanism, path_type=path, seasons=4, tier="A")
        frame["axis"] = "solar" if mechanism == "ES" else "sun"
        frame["verdict"] = "provisional" if path == "mixed" else "ok"
        frame["reason"] = "18 opening days, and a fit needs 20" if path == "mixed" else ""
        frames.append(frame)
    frames.append(_refused(axis="solar", hour=np.nan))
    order = [
        "band",
        "mechanism",
        "path_type",
        "axis",
        "hour",
        "chance",
        "low",
        "high",
        "n_monitored",
        "seasons",
        "tier",
        "verdict",
        "reason",
    ]
    return pd.concat(frames, ignore_index=True)[order]


def season() -> pd.DataFrame:
    """Chance by season day for the same series as `daily`, with a gap where nobody listened."""
    frames = []
    for band, mechanism, path in SHAPES:
        day = np.arange(-183, 184)
        chance = 0.002 + _curve(day, [(0, 30, 0.09), (-168, 14, 0.012)], period=365)
        frame = pd.DataFrame({"season_day": day, "chance": chance, "low": chance / 1.7, "high": chance * 1.7})
        frame["n_monitored"] = np.where((day > 106) | (day < -100), 0, 190)
        frame.loc[frame.n_monitored == 0, ["chance", "low", "high"]] = np.nan
        frame["date"] = [
            f"{date:%m-%d}" for date in pd.Timestamp("2025-06-21") + pd.to_timedelta(day, unit="D")
        ]
        frames.append(
            frame.assign(
                band=band, mechanism=mechanism, path_type=path, seasons=4, tier="A", verdict="ok", reason=""
            )
        )
    frames.append(_refused(season_day=np.nan, date=""))
    order = "band mechanism path_type season_day date chance low high n_monitored seasons tier verdict reason"
    return pd.concat(frames, ignore_index=True)[order.split()]


def _refused(**extra) -> pd.DataFrame:
    row = {
        "band": "2m",
        "mechanism": "ES",
        "path_type": "all",
        "chance": np.nan,
        "low": np.nan,
        "high": np.nan,
        "n_monitored": 2400,
        "seasons": 4,
        "tier": "A",
        "verdict": "refuse",
        "reason": "fewer than 10 opening days were seen; more seasons or a neighbouring region would help",
    }
    return pd.DataFrame([row | extra])


def seasons() -> pd.DataFrame:
    """One row per season of 6 m sporadic E, the last above normal; 2 m refused."""
    frame = pd.DataFrame({"season": SEASONS, "index": [0.9, 1.05, 0.8, 1.6]})
    frame = frame.assign(low=frame["index"] / 1.3, high=frame["index"] * 1.3, opening_days=[31, 36, 28, 55])
    frame = frame.assign(
        scope="here", monitored_days=193, band="6m", mechanism="ES", path_type="all", tier="A", reason=""
    )
    frame["verdict"] = ["normal", "normal", "normal", "above"]
    frame = frame.assign(compared=frame["index"], usual_low=0.7, usual_high=1.4)
    blank = {"season": 2021, "opening_days": 3, "monitored_days": 193, "band": "2m", "mechanism": "ES"}
    blank |= {
        "scope": "here",
        "path_type": "all",
        "tier": "A",
        "verdict": "refuse",
        "reason": "fewer than 10 opening days",
    }
    return pd.concat([frame, pd.DataFrame([blank])], ignore_index=True)


def days() -> pd.DataFrame:
    """Half of the days of the openings' seasons open here, a day a season more in the region."""
    rows = []
    for band, mechanism in (("6m", "ES"), ("2m", "TR")):
        for season in SEASONS:
            for k, day in enumerate(pd.date_range(f"{season}-06-01", periods=20)):
                about = {
                    "band": band,
                    "mechanism": mechanism,
                    "path_type": "all",
                    "day": day,
                    "season": season,
                }
                opened = {"here": k < 10, "region": k < 11}
                rows += [
                    about | {"scope": scope, "listened": True, "open": opened[scope], "max_km": 1500.0 + k}
                    for scope in opened
                ]
    return pd.DataFrame(rows)


def windows() -> pd.DataFrame:
    """Ten-day windows of next season, tropo on 2 m apart for land and sea; the best lie around midsummer."""
    frames = []
    start = pd.date_range("2024-12-20", "2025-12-19", freq="D")
    for band, mechanism, direction, height, at_least in (
        ("6m", "ES", "all", 0.95, 4),
        ("2m", "TR", "land", 0.5, 1),
        ("2m", "TR", "sea", 0.7, 2),
    ):
        away = (start - pd.Timestamp("2025-06-14")).days.to_numpy()
        chance = (0.02 + height * np.exp(-0.5 * (away / 35) ** 2)).clip(0, 0.99)
        frame = pd.DataFrame({"start": start, "chance": chance, "low": chance * 0.7})
        frame["high"] = (chance * 1.2).clip(max=1)
        frame["near_best"] = chance > chance.max() - 0.1
        frame["expected_days"], frame["expected_low"], frame["expected_high"] = (
            chance * 4,
            chance * 2,
            chance * 7,
        )
        about = {"band": band, "mechanism": mechanism, "direction": direction, "at_least": at_least}
        frames.append(frame.assign(**about))
    table = pd.concat(frames, ignore_index=True)
    table = table.assign(days=10, seasons=4, tier="A", verdict="ok", reason="")
    blank = {"band": "2m", "mechanism": "ES", "direction": "all", "days": 10, "near_best": False, "tier": "A"}
    blank |= {"verdict": "refuse", "reason": "fewer than 10 opening days", "seasons": 4}
    return pd.concat([table, pd.DataFrame([blank])], ignore_index=True)


def leads() -> pd.DataFrame:
    """Leads of four signs: a beacon that surely leads, FT8 that only seems to, two of which too little is known."""
    nan = np.nan
    rows = [
        ("6m", "ES", "beacon", 412, 19.0, 6.5, 5.1, 8.0, 0.002, "comes first", ""),
        ("6m", "ES", "weak signal", 4, 20.0, nan, nan, nan, nan, "refuse", "fewer than 6 openings have both"),
        ("6m", "ES", "FT8", 345, 9.0, -0.8, -3.0, 1.3, 1.0, "chance", NO_MORE),
        ("2m", "ES", "FT8", 3, 9.0, nan, nan, nan, nan, "refuse", "fewer than 6 openings have both"),
    ]
    columns = [
        "band",
        "mechanism",
        "sign",
        "n_both",
        "median_min",
        "excess_min",
        "low_min",
        "high_min",
        "p_holm",
    ]
    return pd.DataFrame(rows, columns=[*columns, "verdict", "reason"]).assign(scope="region")


def rungs() -> pd.DataFrame:
    """Two rungs that lead to voice and one of which too little is known."""
    rows = [
        ("beacon", 201, 0.43, 0.35, 0.51, 27.0, 14.0, 52.0, "ok", ""),
        ("FT8", 140, 0.42, 0.38, 0.45, 20.0, 5.0, 77.0, "ok", ""),
        ("weak signal", 3, *[np.nan] * 6, "refuse", "in 3 openings only"),
    ]
    columns = [
        "rung",
        "n_known",
        "chance",
        "low",
        "high",
        "lead_min",
        "lead_low",
        "lead_high",
        "verdict",
        "reason",
    ]
    return pd.DataFrame(rows, columns=columns).assign(scope="region", band="6m", mechanism="ES")


def voice_levels() -> pd.DataFrame:
    """Chance of voice at three levels, and the trade's rung."""
    rows = [(CURVE, level, 0.3 + level / 100, "ok", "") for level in (-10.0, 0.0, 10.0)]
    rows.append((RUNG, -10.0, 2.5, "supported", ""))
    table = pd.DataFrame(rows, columns=["what", "level_db", "value", "verdict", "reason"])
    table = table.assign(low=table["value"] * 0.8, high=table["value"] * 1.2, n=500, n_voice=150)
    return table.assign(scope="region", band="6m", mechanism="ES")


def muf() -> pd.DataFrame:
    """Shortest hops of a hundred quarter-hours on 6 m."""
    return pd.DataFrame({"band": "6m", "shortest_km": np.linspace(450, 2200, 100)})


def chain() -> pd.DataFrame:
    """2 m after a short skip on 6 m; nothing of 4 m."""
    row = {"band": "6m", "upper": "2m", "skip_km": 600.0, "n": 91, "n_led": 27, "chance": 0.3, "low": 0.15}
    row |= {"high": 0.51, "lead_min": 18.0, "n_longer": 664, "chance_longer": 0.02, "verdict": "ok"}
    return pd.DataFrame([row, row | {"upper": "4m", "chance": np.nan, "verdict": "refuse"}])


def hours() -> pd.DataFrame:
    """Chance by month and hour: 6 m sporadic E best in June at 13 h, blank in winter; 2 m refused."""
    month, hour = np.repeat(np.arange(1, 13), 24), np.tile(np.arange(24), 12)
    away = (month - 6.2) ** 2 / 3 + np.minimum((hour - 13) ** 2 / 8, (hour - 21) ** 2 / 8 + 0.3)
    chance = np.where((month >= 3) & (month <= 10), 0.002 + 0.2 * np.exp(-away), np.nan)
    table = pd.DataFrame(
        {"month": month, "hour": hour, "chance": chance, "low": chance / 1.6, "high": chance * 1.6}
    )
    table = table.assign(
        n_monitored=np.where(np.isnan(chance), 0, 400), band="6m", mechanism="ES", path_type="all"
    )
    table = table.assign(tier="A", verdict="ok", reason="")
    return pd.concat([table, _refused().assign(month=np.nan, hour=np.nan)], ignore_index=True)


def places() -> pd.DataFrame:
    """Three places compared in two series; only tropo over sea tells them apart."""
    rows = [
        ("IN93", "coast", "ES", "6m", "all", 0.43, 0.35, 0.52, "north"),
        ("JN03", "inland", "ES", "6m", "all", 0.44, 0.36, 0.53, "north-west"),
        ("IM67", "coast", "ES", "6m", "all", 0.48, 0.37, 0.58, "north-east"),
        ("IN93", "coast", "TR", "2m", "sea", 0.15, 0.11, 0.20, "north"),
        ("JN03", "inland", "TR", "2m", "sea", 0.01, 0.00, 0.03, "west"),
    ]
    columns = [
        "locator",
        "ground",
        "mechanism",
        "band",
        "path_type",
        "open_share",
        "low",
        "high",
        "best_heading",
    ]
    table = pd.DataFrame(rows, columns=columns).assign(tier="A", verdict="ok", reason="", n_days=557)
    blank = table.iloc[[2]].assign(
        mechanism="TR", band="2m", path_type="sea", open_share=np.nan, verdict="refuse"
    )
    return pd.concat([table, blank.assign(reason="nothing was heard there")], ignore_index=True)


def indicators() -> pd.DataFrame:
    """A useful beacon, a useful lower band, a beacon that only shares the hours, one too seldom heard."""
    nan = np.nan
    rows = [
        (
            1,
            "2m",
            "TR",
            "voice or CW",
            "beacon",
            "2m",
            "Q1ABC/B",
            "IN71PQ",
            144.489,
            237.7,
            341,
            43,
            4.25,
            "useful",
            "",
        ),
        (1, "2m", "ES", "opening", "lower band", "6m", "", "", nan, nan, 534, 134, 26.0, "useful", ""),
        (
            nan,
            "2m",
            "ES",
            "opening",
            "beacon",
            "6m",
            "Q2ABC/B",
            "JO22TH",
            50.43,
            24.3,
            165,
            6,
            5.8,
            "chance",
            "no more",
        ),
        (
            nan,
            "2m",
            "ES",
            "opening",
            "beacon",
            "6m",
            "Q3ABC/B",
            "JO01EH",
            50.42,
            6.3,
            4,
            0,
            nan,
            "refuse",
            "4 warnings",
        ),
    ]
    columns = [
        "rank",
        "target_band",
        "mechanism",
        "target",
        "sign",
        "band",
        "call",
        "locator",
        "freq_mhz",
        "heading_deg",
    ]
    table = pd.DataFrame(rows, columns=[*columns, "n_warnings", "followed", "expected", "verdict", "reason"])
    lift = table["followed"] / table["expected"]
    return table.assign(
        rank=table["rank"].astype("Int64"), listener="", lift=lift, lift_low=0.8 * lift, lift_high=1.25 * lift,
        followed_share=table["followed"] / table["n_warnings"], warned_share=0.6, gain=0.5 * (1 - 1 / lift), lead_min=60.0,
        stable="in all 6 seasons",
    )  # fmt: skip
