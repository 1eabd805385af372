"""A seeded summer on 2 m with aircraft above a working population, truth known.

Built from people who are on in sessions, link budgets with fading and traffic on airways, apart from
the events of `mixed_season` and `rare_season`; no table of `likelihoods` was fitted to it. More than a
tenth of the reports come by aircraft. Ducts lift whole regions; between them the better stations reach
200 to 450 km by scatter on any day, which is tropo and no opening.
"""

import numpy as np
import pandas as pd

from analysis.gather import locators, spots
from analysis.tag import paths

START = pd.Timestamp("2023-05-05", tz="UTC")
DAYS = 75
LEAST_DB = {"FT8": -21.0, "SSB": 4.0, "CW": -9.0, "MSK144": -8.0}


def aircraft_season(*, seed, degraded=False, n_stations=60):
    """Spot table of a season and the true mechanism of each row.

    `degraded` keeps a quarter of the reports and half of the SNRs. The third column that `whole_season`
    gives, whether a duct was there, is left out.
    """
    table, truth, _ = whole_season(seed=seed, degraded=degraded, n_stations=n_stations)
    return table, truth


def whole_season(*, seed, degraded=False, n_stations=60):
    """Spot table, true mechanism, and whether the path lay in a duct."""
    rng = np.random.default_rng(seed)
    stations, pairs = _people(rng, n_stations)
    on = _sessions(rng, n_stations)
    parts = [
        _tropo(rng, pairs, on),
        _aircraft(rng, pairs, on),
        _pings(rng, pairs, on),
        _sporadic_e(rng, pairs, on),
    ]
    rows = pd.concat(parts, ignore_index=True)
    quick = stations["digital"].to_numpy()[rows["tx"]]
    voice = np.where(rng.random(len(rows)) < 0.6, "SSB", "CW")
    rows["mode"] = rows["mode"].where(rows["mode"] != "", np.where(quick, "FT8", voice))
    rows = rows[rows["snr_db"] > rows["mode"].map(LEAST_DB)].sort_values("minute", ignore_index=True)
    if degraded:
        rows = rows[rng.random(len(rows)) < 0.25].reset_index(drop=True)
        rows.loc[rng.random(len(rows)) < 0.5, "snr_db"] = np.nan
    rows.loc[rows["mode"].isin(["SSB", "CW"]), "snr_db"] = np.nan
    return _table(rows, stations), rows["truth"].to_numpy(), rows["duct"].to_numpy(bool)


def _people(rng, n):
    towns = np.column_stack([rng.uniform(-4, 16, 14), rng.uniform(43, 55, 14)])
    home = rng.choice(14, n, p=rng.dirichlet(np.full(14, 2.0)))
    stations = pd.DataFrame(towns[home] + rng.normal(0, (0.9, 0.6), (n, 2)), columns=["lon", "lat"])
    stations["gain_db"] = rng.normal(0, 5, n)
    stations["digital"] = rng.random(n) < 0.7
    tx, rx = (side.ravel() for side in np.meshgrid(np.arange(n), np.arange(n)))
    tx, rx = tx[tx != rx], rx[tx != rx]
    ends = {
        f"{name}{number}": stations[name].to_numpy()[side]
        for number, side in ((1, rx), (2, tx))
        for name in ("lon", "lat")
    }
    pairs = paths.geodesics(**ends).assign(tx=tx, rx=rx)
    pairs["gain_db"] = stations["gain_db"].to_numpy()[tx] + stations["gain_db"].to_numpy()[rx]
    return stations, pairs[pairs["distance_km"] < 2300].reset_index(drop=True)


def _sessions(rng, n):
    """Who is on in which quarter of an hour: a fifth always, the others when they have time."""
    quarter = np.arange(DAYS * 96)
    hour, weekend = quarter / 4 % 24, (quarter // 96 + START.day_of_week) % 7 >= 5
    wish = 0.04 + 0.5 * np.exp(-0.5 * ((hour - 19.5) / 2.2) ** 2) + 0.25 * (weekend & (hour > 8))
    on = rng.random((n, len(quarter))) < 0.28 * wish * rng.gamma(2, 0.5, n)[:, None]
    for later in range(1, 6):  # a session lasts an hour and a half
        on[:, later:] |= on[:, :-later] & (rng.random((n, len(quarter) - later)) < 0.8)
    on[rng.random(n) < 0.2] = True
    return on


def _both_on(rows, on):
    quarter = (rows["minute"] // 15).astype(int)
    inside = (quarter >= 0) & (quarter < on.shape[1])
    rows, quarter = rows[inside], quarter[inside].to_numpy()
    return rows[on[rows["tx"], quarter] & on[rows["rx"], quarter]]


def _calls(rng, pairs, each):
    """Random minutes, `each` a pair on average, before anybody is asked whether he is on."""
    rows = pairs.loc[pairs.index.repeat(rng.poisson(each, len(pairs)))]
    return rows.assign(minute=np.floor(rng.uniform(0, DAYS * 1440, len(rows))), duct=False, mode="")


def _tropo(rng, pairs, on):
    """Local signals, scatter and ducts by one link budget: the duct adds what it adds."""
    near = pairs[pairs["distance_km"] < 950].reset_index(drop=True)
    rows = _both_on(_calls(rng, near, 90), on).reset_index(drop=True)
    km = rows["distance_km"].to_numpy()
    loss = 0.11 * np.minimum(km, 150) + 0.1 * np.clip(km - 150, 0, None)
    slow = rng.normal(0, 5, (len(near), DAYS))[
        rows["tx"] % len(near), (rows["minute"] // 1440).astype(int)
    ]  # the day's own weather
    lift = np.zeros(len(rows))
    minute, lon, lat = (rows[name].to_numpy() for name in ("minute", "mid_lon", "mid_lat"))
    for _ in range(rng.poisson(DAYS / 3)):
        begin, length = rng.integers(0, DAYS) * 1440 + rng.normal(1260, 200), rng.uniform(240, 1500)
        x, y = rng.uniform(-3, 15), rng.uniform(44, 54)
        wide, high, turn = rng.uniform(250, 600), rng.uniform(150, 350), rng.uniform(0, np.pi)
        now = (minute >= begin) & (minute < begin + length)
        east, north = (lon - x) * 111 * np.cos(np.radians(y)) + 60 * (minute - begin) / 600, (lat - y) * 111
        along, across = (
            east * np.cos(turn) + north * np.sin(turn),
            north * np.cos(turn) - east * np.sin(turn),
        )
        inside = now & (np.hypot(along / wide, across / high) < 1)
        lift[inside] = np.maximum(lift[inside], rng.uniform(20, 45))
    snr = 22 - loss + rows["gain_db"] + slow + rng.normal(0, 4, len(rows))
    truth = np.where(km < 150, "LOS", "TR")
    return rows.assign(snr_db=snr + lift, truth=truth, duct=(lift > 0) & (km >= 150))


def _aircraft(rng, pairs, on):
    """Airways with traffic by day: whoever has the aircraft between him and the other hears it for minutes."""
    reach = pairs[pairs["distance_km"].between(220, 820)].reset_index(drop=True)
    parts = []
    for _ in range(26):
        x, y, turn = rng.uniform(-3, 15), rng.uniform(44, 54), rng.uniform(0, np.pi)
        flights = rng.poisson(DAYS * rng.uniform(0.5, 2))
        hour = rng.choice(24, flights, p=_traffic())
        passes = rng.integers(0, DAYS, flights) * 1440 + hour * 60 + rng.uniform(0, 60, flights)
        for minute in passes:
            # Where on its airway it is when the geometry fits differs from pair to pair.
            along = rng.uniform(-450, 450)
            lon = x + along * np.cos(turn) / (111 * np.cos(np.radians(y)))
            lat = y + along * np.sin(turn) / 111
            off = np.hypot(
                (reach["mid_lon"] - lon) * 111 * np.cos(np.radians(lat)), (reach["mid_lat"] - lat) * 111
            )
            hit = reach[(off < 45) & (rng.random(len(reach)) < 0.6)]
            length = rng.uniform(1, 6)
            rows = hit.loc[hit.index.repeat(rng.poisson(length * 0.9, len(hit)))]
            parts.append(rows.assign(minute=np.floor(minute + length * rng.random(len(rows)))))
    rows = _both_on(pd.concat(parts, ignore_index=True), on)
    snr = rng.normal(-11, 6, len(rows)) + 0.5 * rows["gain_db"]
    return rows.assign(snr_db=snr, truth="AS", duct=False, mode="")


def _traffic():
    hour = np.arange(24)
    weight = np.where((hour >= 5) & (hour < 22), 1.0, 0.12)
    return weight / weight.sum()


def _pings(rng, pairs, on):
    reach = pairs[pairs["distance_km"].between(500, 2150)]
    rows = _both_on(_calls(rng, reach, 10), on)
    hour = rows["minute"] / 60 % 24
    rows = rows[rng.random(len(rows)) < (1 + 0.6 * np.sin(np.pi * hour / 12)) / 1.6]
    rows = rows[rng.random(len(rows)) < np.exp(-0.5 * ((rows["distance_km"] - 1200) / 450) ** 2)]
    mode = np.where(rng.random(len(rows)) < 0.55, "MSK144", "")
    return rows.assign(snr_db=rng.normal(-2, 5, len(rows)), truth="MS", mode=mode)


def _sporadic_e(rng, pairs, on):
    """A handful of hours on 2 m, over long paths with one midpoint."""
    parts = []
    for _ in range(6):
        begin = rng.integers(20, DAYS) * 1440 + rng.choice([rng.normal(660, 60), rng.normal(1080, 80)])
        x, y = rng.uniform(0, 12), rng.uniform(45, 52)
        off = np.hypot((pairs["mid_lon"] - x) * 75, (pairs["mid_lat"] - y) * 111)
        open_ = pairs[(off < 170) & pairs["distance_km"].between(1350, 2200)]
        rows = open_.loc[open_.index.repeat(rng.poisson(14, len(open_)))]
        parts.append(rows.assign(minute=np.floor(begin + 50 * rng.random(len(rows)))))
    rows = _both_on(pd.concat(parts, ignore_index=True), on)
    return rows.assign(snr_db=rng.normal(0, 8, len(rows)), truth="ES", duct=False, mode="")


def _table(rows, stations):
    call = np.array([f"Q{n % 10}{chr(65 + n // 10)}CR" for n in range(len(stations))])
    squares = np.array(
        [locators.encode(lat=lat, lon=lon) for lon, lat in zip(stations["lon"], stations["lat"], strict=True)]
    )
    return spots.as_spots(
        pd.DataFrame(
            {
                "time": START + pd.to_timedelta(rows["minute"], unit="min"),
                "band": "2m",
                "mode": rows["mode"],
                "tx_call": call[rows["tx"]],
                "rx_call": call[rows["rx"]],
                "tx_locator": squares[rows["tx"]],
                "rx_locator": squares[rows["rx"]],
                "snr_db": rows["snr_db"],
                "kind": "heard",
            }
        )
    )
