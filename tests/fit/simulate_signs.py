"""Seeded openings whose signs, leads and levels are known, for tests and benchmarks."""

from __future__ import annotations

import numpy as np
import pandas as pd

from analysis.find.signs import quarters
from analysis.find.signs.announced import ABOUT
from analysis.find.signs.ladder import LED, spells

MEDIAN_MIN = 60.0


def climbs(rng, *, n=400, cut_share=0.3, seasons=6):
    """Rungs that lead to voice after a log-normal time of median 60 min, some with nobody left to hear it.

    Returns
    -------
    spells : DataFrame
        As of `find.signs.ladder.ladder`.
    truth : DataFrame
        `lead_min`, what a voice operator who was always on would have seen.
    """
    lead = MEDIAN_MIN * np.exp(rng.normal(0, 0.6, n))
    # Patience is spread as leads are, so that this share of openings loses its operator before voice.
    leaves = np.quantile(lead, 0.5) * np.exp(rng.normal(_shift(cut_share), 0.6, n))
    comes = np.where(rng.random(n) < 0.3, rng.uniform(0, 40, n), -20.0)
    rows = []
    for k in range(n):
        on = np.array([(comes[k], leaves[k])]) if leaves[k] > comes[k] else np.empty((0, 2))
        seen = spells(rung=0.0, end=2000.0, voice=lead[k], on=on) or [(np.nan, np.nan, "")]
        rows += [(k, *one) for one in seen]
    table = pd.DataFrame(rows, columns=["opening", "entry_min", "exit_min", "ended"])
    season = 2018 + table["opening"] % seasons
    start = pd.to_datetime(season.astype(str) + "-06-01", utc=True) + pd.to_timedelta(
        table["opening"] % 90, unit="D"
    )
    about = {"scope": "region", "band": "6m", "mechanism": "ES", "path_type": "all", "rung": "FT8"}
    return table.assign(season=season, start=start, start_heard=True, **about), pd.DataFrame(
        {"lead_min": lead}
    )


def _shift(cut_share):
    """Mean log patience at which a share of log-normal leads outlasts it."""
    from scipy.stats import norm

    return -norm.ppf(cut_share) * np.hypot(0.6, 0.6)


def seen_leads(table):
    """Leads as they look to who leaves out what was cut."""
    return table.loc[table["ended"] == LED, "exit_min"]


def openings(rng, *, n=200, lead_min=0.0, seasons=6):
    """Reports of openings in which FT8 is reported eight times as often as voice, at random times.

    `lead_min` is how long before voice FT8 becomes possible; with 0 no mode is earlier than another.

    Returns
    -------
    spots, openings : DataFrame
        As `first_signs` needs them.
    """
    length = rng.uniform(40, 160, n) + lead_min
    n_ft8, n_voice = 1 + rng.poisson(16, n), rng.poisson(2, n)
    which = np.concatenate([np.repeat(np.arange(n), n_ft8), np.repeat(np.arange(n), n_voice)])
    mode = np.repeat(["FT8", "SSB"], [n_ft8.sum(), n_voice.sum()])
    since = np.where(mode == "SSB", lead_min, 0.0)
    minute = since + rng.random(len(which)) * (length[which] - since)
    season = 2018 + np.arange(n) % seasons
    start = pd.to_datetime([f"{year}-05-01" for year in season], utc=True) + pd.to_timedelta(
        np.arange(n) % 120, unit="D"
    )
    spots = pd.DataFrame(
        {
            "time": start[which] + pd.to_timedelta(np.floor(minute), unit="min"),
            "mode": mode,
            "tx_call": "Q1TX",
            "rx_call": rng.choice([f"Q{k}RX" for k in range(12)], len(which)),
            "snr_db": 0.0,
            "opening": pd.array(which + 1, dtype="Int64"),
            "season": season[which],
        }
    )
    about = {"scope": "region", "band": "6m", "mechanism": "ES", "path_type": "all", "grade": "confirmed"}
    return spots, pd.DataFrame({"opening": np.arange(1, n + 1), "start": start}).assign(**about)


def keepers_year(rng, *, days=365):
    """A beacon's year: on for weeks, off for days; one to four regulars who come and go and do not always hear it.

    Returns
    -------
    on : ndarray of bool
        The truth.
    heard : DataFrame
        As of `find.signs.heard.listening_days`.
    """
    on = np.ones(days, bool)
    for day in range(1, days):
        on[day] = rng.random() > 1 / 80 if on[day - 1] else rng.random() < 1 / 8
    n = rng.integers(1, 5)
    there = rng.random((days, n)) < rng.uniform(0.4, 0.95, n)
    heard = there & on[:, None] & (rng.random((days, n)) < rng.uniform(0.4, 0.95, n))
    index = pd.date_range("2024-01-01", periods=days, freq="D", tz="UTC")
    return on, pd.DataFrame(np.where(there, heard.astype(float), np.nan), index=index)


USEFUL, SAME_HOUR, MISLEADING = "useful", "same hour", "misleading"
N_VOID = 8


def watched_signs(rng, *, seasons=6, lead_min=45.0, share=0.6):
    """Signs beside the openings of some seasons: one that comes before them, one that shares their hours, season and
    good years, one that keeps away from them, and `N_VOID` more with hours and spells of their own.

    Returns
    -------
    DataFrame
        As of `find.signs.announced.announced`, the sign's name in `call`.
    """
    days = pd.Timestamp("2018-04-15", tz="UTC"), pd.Timestamp(f"{2017 + seasons}-09-15", tz="UTC")
    when = quarters.calendar(*days, lon=-1.0, lat=43.5)
    summer = np.isin(pd.to_datetime(when.middle * 60, unit="s").month, range(5, 9))
    year = np.exp(rng.normal(0, 0.3, seasons + 2))[when.season - when.season.min()]
    profile = _hours(when) * np.exp(-0.5 * ((when.part - 9) / 1.5) ** 2) * summer * year
    onsets = _thinned(rng, 0.03 * profile * _spells(rng, when), when)
    ends = onsets + np.maximum(rng.exponential(60.0, len(onsets)), 10.0)
    aim = quarters.target(onsets, ends, watched=summer & (rng.random(when.n) < 0.97), when=when)
    before = onsets[rng.random(len(onsets)) < share]
    before = before - lead_min * np.exp(rng.normal(0, 0.3, len(before)))
    alike = lambda: _thinned(rng, 0.03 * profile * _spells(rng, when), when)
    none = _thinned(rng, 0.04 * profile * _spells(rng, when) * ~aim.follows, when)
    signs = {USEFUL: np.concatenate([before, alike()]), SAME_HOUR: alike(), MISLEADING: none}
    for number in range(N_VOID):
        own = np.roll(profile, int(rng.integers(0, 96)))
        signs[f"void {number}"] = _thinned(rng, rng.uniform(0.02, 0.06) * own * _spells(rng, when), when)
    parts = []
    for name, starts in signs.items():
        reports = np.sort(np.concatenate([starts, starts + 10.0, starts + 20.0]))
        on = np.repeat(rng.random(when.n // 96 + 1) < 0.9, 96)[: when.n]
        about = dict.fromkeys(ABOUT, "") | {"target_band": "2m", "mechanism": "ES", "call": name}
        parts.append(quarters.outcomes(reports, on, aim, when).assign(**about))
    return pd.concat(parts, ignore_index=True)


def _hours(when):
    """Two maxima a day."""
    return sum(np.exp(-0.5 * ((when.hour - peak) / 1.8) ** 2) for peak in (11, 18))


def _spells(rng, when):
    """Active and quiet spells of days, mean one."""
    n = when.n // 96 + 1
    level = np.zeros(n)
    for day in range(1, n):
        level[day] = 0.65 * level[day - 1] + rng.normal(0, 0.8 * np.sqrt(1 - 0.65**2))
    return np.repeat(np.exp(level - 0.32), 96)[: when.n]


def _thinned(rng, chance, when):
    """Minutes of events that come with so much chance in each quarter."""
    at = np.flatnonzero(rng.random(when.n) < chance)
    return when.first + quarters.QUARTER_MIN * (at + rng.random(len(at)))
