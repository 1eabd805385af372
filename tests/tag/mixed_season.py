"""A seeded season in which sporadic E, tropo, meteor pings and local signals are mixed, truth known.

Written from the physics (patches that open pairs by the secant law, regions of ducting, Poisson
pings), not from the tables that `likelihoods` holds.
"""

import numpy as np
import pandas as pd

from analysis.gather import locators, spots
from analysis.physics import sporadic_e
from analysis.tag import coast, paths

START = pd.Timestamp("2024-04-20", tz="UTC")
DAYS = 140
MHZ = {"6m": 50.3, "2m": 144.3}
THRESHOLD_DB = {"FT8": -21.0, "SSB": 5.0, "CW": -8.0, "MSK144": -8.0}


def mixed_season(*, seed, n_stations=70, degraded=False):
    """Spot table of one season and the true mechanism of each row.

    `degraded` keeps 12 % of the spots, takes the SNR from half of them, sends most pings as FT8 and
    moves every station by some 60 km.
    """
    rng = np.random.default_rng(seed)
    stations, pairs = _network(rng, n_stations)
    parts = [
        _sporadic_e(rng, pairs),
        _tropo(rng, pairs),
        _meteors(rng, pairs, as_ft8=0.7 if degraded else 0.35),
        _local(rng, pairs),
        _troposcatter(rng, pairs),
    ]
    rows = pd.concat(parts, ignore_index=True)
    wrong = rng.random(len(rows)) < 0.01  # a locator that is not the station's
    rows.loc[wrong, "tx"] = rng.integers(0, n_stations, wrong.sum())
    heard = ~(rows["snr_db"] < rows["mode"].map(THRESHOLD_DB))
    rows = rows[heard & (rows["minute"] < DAYS * 1440)].sort_values("minute", ignore_index=True)
    if degraded:
        rows = rows[rng.random(len(rows)) < 0.12].reset_index(drop=True)
        rows.loc[rng.random(len(rows)) < 0.5, "snr_db"] = np.nan
        stations = _scatter(rng, stations)
    rows.loc[~rows["mode"].isin(["FT8", "MSK144"]), "snr_db"] = np.nan
    return _as_table(rows, stations), rows["truth"].to_numpy()


def _network(rng, n):
    stations = pd.DataFrame({"lon": rng.uniform(-9, 18, n), "lat": rng.uniform(37, 57, n)})
    # Operators live in clusters: a third of them next to another one.
    near = rng.random(n) < 0.35
    host = rng.integers(0, n, n)
    stations.loc[near, "lon"] = stations["lon"].to_numpy()[host[near]] + rng.normal(0, 0.7, near.sum())
    stations.loc[near, "lat"] = stations["lat"].to_numpy()[host[near]] + rng.normal(0, 0.4, near.sum())
    tx, rx = (index.ravel() for index in np.meshgrid(np.arange(n), np.arange(n)))
    apart = tx != rx
    tx, rx = tx[apart], rx[apart]
    ends = {
        "lon1": stations["lon"].to_numpy()[rx],
        "lat1": stations["lat"].to_numpy()[rx],
        "lon2": stations["lon"].to_numpy()[tx],
        "lat2": stations["lat"].to_numpy()[tx],
    }
    pairs = paths.geodesics(**ends).assign(tx=tx, rx=rx)
    pairs["sea_share"] = coast.path_shares(**ends)["sea_share"]
    return stations, pairs


def _km_from(centre, pairs):
    """Distance of midpoints from the centre of a patch, on a sphere."""
    east, north = np.radians(pairs["mid_lon"] - centre[0]), np.radians(pairs["mid_lat"])
    middle = np.radians(centre[1])
    cosine = np.sin(north) * np.sin(middle) + np.cos(north) * np.cos(middle) * np.cos(east)
    return 6371 * np.arccos(np.clip(cosine, -1, 1)).to_numpy()


def _times(rng, begin, minutes, pairs, rate_per_hour):
    """Poisson reports of some pairs while they are open: rows of pair and minute."""
    counts = rng.poisson(rate_per_hour * minutes / 60, len(pairs))
    rows = pairs.loc[pairs.index.repeat(counts)]
    return rows.assign(minute=begin + rng.uniform(0, minutes, len(rows)))


def _mode(rng, n):
    return rng.choice(["FT8", "SSB", "CW"], size=n, p=[0.7, 0.2, 0.1])


def _sporadic_e(rng, pairs):
    parts = []
    for day in range(DAYS):
        season = np.exp(-0.5 * ((day - 62) / 28) ** 2)
        for _ in range(rng.poisson(1.3 * season)):
            hour = rng.choice([rng.normal(10.5, 1.5), rng.normal(18, 1.5)])
            begin, minutes = day * 1440 + hour * 60, np.exp(rng.normal(np.log(60), 0.7))
            centre = rng.uniform(-5, 14), rng.uniform(40, 54)
            from_centre = _km_from(centre, pairs)
            inside = from_centre < rng.uniform(120, 300)
            foes = 9.5 + rng.exponential(4.5)
            for band, mhz in MHZ.items():
                near = pairs[inside]
                needed = sporadic_e.lowest_foes(near["distance_km"].to_numpy(), freq_mhz=mhz)
                fading = sporadic_e.one_hop_chance(near["distance_km"]) > rng.random(len(near))
                reached = near[fading & (needed <= foes) & (rng.random(len(near)) < 0.4)]
                rows = _times(rng, begin, minutes, reached, 2.0)
                snr = rng.normal(-4, 8, len(rows))
                parts.append(rows.assign(band=band, mode=_mode(rng, len(rows)), snr_db=snr, truth="ES"))
    return pd.concat(parts, ignore_index=True)


def _tropo(rng, pairs):
    parts = []
    for _ in range(rng.poisson(DAYS / 5)):
        begin, minutes = rng.uniform(0, DAYS * 1440), np.exp(rng.normal(np.log(400), 0.6))
        centre = rng.uniform(-7, 16), rng.uniform(39, 55)
        from_centre = _km_from(centre, pairs)
        limit = rng.gamma(6, 85) * np.where(pairs["sea_share"] > 0.5, 1.5, 1.0)
        open_ = (from_centre < rng.uniform(150, 400)) & (pairs["distance_km"] < limit)
        open_ &= pairs["distance_km"] > 180
        for band, share, rate in (("2m", 0.7, 0.7), ("6m", 0.15, 0.3)):
            reached = pairs[open_ & (rng.random(len(pairs)) < share)]
            rows = _times(rng, begin, minutes, reached, rate)
            snr = 6 - 0.035 * rows["distance_km"] + rng.normal(0, 7, len(rows))
            parts.append(rows.assign(band=band, mode=_mode(rng, len(rows)), snr_db=snr, truth="TR"))
    return pd.concat(parts, ignore_index=True)


def _troposcatter(rng, pairs):
    """Weak paths of 150 to 450 km that well-equipped stations work on any day."""
    reach = pairs[(pairs["distance_km"] > 150) & (pairs["distance_km"] < 450)]
    n = rng.poisson(8 * DAYS)
    rows = reach.iloc[rng.integers(0, len(reach), n)]
    return rows.assign(
        minute=rng.uniform(0, DAYS * 1440, n),
        band=rng.choice(["6m", "2m"], size=n, p=[0.3, 0.7]),
        mode=_mode(rng, n),
        snr_db=rng.normal(-14, 6, n),
        truth="TR",
    )


def _meteors(rng, pairs, *, as_ft8):
    reach = pairs[(pairs["distance_km"] > 550) & (pairs["distance_km"] < 2200)]
    weight = np.exp(-0.5 * ((reach["distance_km"] - 1250) / 450) ** 2)
    n = rng.poisson(11 * DAYS)
    rows = reach.iloc[rng.choice(len(reach), size=n, p=weight / weight.sum())]
    hour = rng.choice(24, size=n, p=(1 + 0.6 * np.sin(np.pi * np.arange(24) / 12)) / 24)
    mode = np.where(rng.random(n) < as_ft8, "FT8", "MSK144")
    return rows.assign(
        minute=rng.integers(0, DAYS, n) * 1440 + hour * 60 + rng.uniform(0, 60, n),
        band=rng.choice(["6m", "2m"], size=n, p=[0.6, 0.4]),
        mode=mode,
        snr_db=rng.normal(-3, 5, n),
        truth="MS",
    )


def _local(rng, pairs):
    close = pairs[pairs["distance_km"] < 180]
    close = close[rng.random(len(close)) < np.exp(-close["distance_km"] / 60)]
    n = rng.poisson(36 * DAYS)
    rows = close.iloc[rng.integers(0, len(close), n)]
    return rows.assign(
        minute=rng.uniform(0, DAYS * 1440, n),
        band=rng.choice(["6m", "2m"], size=n),
        mode=_mode(rng, n),
        snr_db=12 - 0.13 * rows["distance_km"] + rng.normal(0, 7, n),
        truth="LOS",
    )


def _scatter(rng, stations):
    """Every station some 60 km (rms) from where it is."""
    north = rng.normal(0, 60 / 111.2 / np.sqrt(2), len(stations))
    east = rng.normal(0, 60 / 111.2 / np.sqrt(2), len(stations)) / np.cos(np.radians(stations["lat"]))
    return stations.assign(lon=stations["lon"] + east, lat=stations["lat"] + north)


def _as_table(rows, stations):
    call = np.array([f"Q{number % 10}{chr(65 + number // 10)}ST" for number in range(len(stations))])
    names = np.array(
        [
            locators.encode(lat=lat, lon=lon, length=6)
            for lon, lat in zip(stations["lon"], stations["lat"], strict=True)
        ]
    )
    return spots.as_spots(
        pd.DataFrame(
            {
                "time": START + pd.to_timedelta(rows["minute"].round(), unit="min"),
                "band": rows["band"],
                "mode": rows["mode"],
                "tx_call": call[rows["tx"]],
                "rx_call": call[rows["rx"]],
                "tx_locator": names[rows["tx"]],
                "rx_locator": names[rows["rx"]],
                "snr_db": rows["snr_db"],
                "kind": "heard",
            }
        )
    )
