"""Small tagged tables for the tests of this room, made by hand or by a seeded generator."""

import numpy as np
import pandas as pd

from analysis.gather.spots import as_spots

TAGS = {
    "distance_km": 1500.0,
    "distance_err_km": 0.0,
    "ordinary_km": 0.0,
    "mid_lon": 0.0,
    "mid_lat": 47.0,
    "path_type": "mixed",
    "mechanism": "ES",
    "mechanism_p": 0.95,
}


def tagged(rows):
    """A tagged spot table from rows (list of dicts or DataFrame); what is left out gets a plain default."""
    rows = pd.DataFrame(rows)
    rows["time"] = pd.to_datetime(rows["time"], utc=True)
    plain = {"band": "6m", "mode": "FT8", "kind": "heard", "tx_call": "Q1TX", "rx_call": "Q1RX"}
    spots = as_spots(rows.assign(**{name: value for name, value in plain.items() if name not in rows}))
    for name, value in TAGS.items():
        spots[name] = rows[name].to_numpy() if name in rows else value
    return spots


def at(minutes, *, day="2024-06-10", **columns):
    """Rows at so many minutes after the start of a day, other columns the same for all or one list each."""
    start = pd.Timestamp(day, tz="UTC")
    return pd.DataFrame({"time": [start + pd.Timedelta(minutes=float(m)) for m in minutes], **columns})


def locals_every(step_min, *, start, days, station, band="6m"):
    """A station that hears its local beacon at regular times: proof of listening and nothing else."""
    times = pd.date_range(
        pd.Timestamp(start, tz="UTC"), periods=int(days * 1440 / step_min), freq=f"{step_min}min"
    )
    return pd.DataFrame(
        {
            "time": times,
            "band": band,
            "rx_call": station,
            "tx_call": "Q0LOC/B",
            "mechanism": "LOS",
            "distance_km": 40.0,
        }
    )


def together(*tables):
    """One table of several."""
    return tagged(pd.concat(tables, ignore_index=True).pipe(_filled))


def _filled(rows):
    for name, value in {
        **TAGS,
        "kind": "heard",
        "mode": "FT8",
        "tx_call": "Q1TX",
        "rx_call": "Q1RX",
        "band": "6m",
    }.items():
        if name in rows:
            rows[name] = rows[name].where(rows[name].notna(), value)
    return rows.sort_values("time", ignore_index=True)


def generator(seed):
    """A seeded source of random numbers."""
    return np.random.default_rng(seed)
