"""Who heard whom: paths that the sky opened, between people who were there."""

from __future__ import annotations

import numpy as np
import pandas as pd
import people
import sky

from analysis.tag import coast

FREQ_MHZ = (50.2, 144.2)
THRESHOLD_DB = {"FT8": -21, "CW": -13, "MSK144": -8, "WSPR": -28, "SSB": 2, "FM": 4}
SHOWERS = {3: 1.5, 112: 0.7, 126: 0.8, 158: 1.0, 224: 2.0}  # day of year, strength above the usual
LOCAL_KM = 150


def paths_between(table: pd.DataFrame) -> pd.DataFrame:
    """Every ordered pair of a transmitter and a receiver that is not too far for two hops.

    Returns
    -------
    DataFrame
        `tx rx` (row numbers of sites), `km`, `mid_lat mid_lon q1_lat q1_lon q3_lat q3_lon`, `sea` (share),
        `kind` (land, mixed, sea), `reluctance` (a fixed quality of the path, 0 is best).
    """
    tx, rx = np.meshgrid(np.arange(len(table)), np.arange(len(table)), indexing="ij")
    role = table["role"].to_numpy()
    pair = (tx != rx) & (role[tx] != "monitor") & (role[rx] != "beacon")
    tx, rx = tx[pair], rx[pair]
    points = _unit(lat=table["lat"].to_numpy(), lon=table["lon"].to_numpy())
    km = sky.EARTH_KM * np.arccos(np.clip((points[tx] * points[rx]).sum(axis=1), -1, 1))
    near = (km > 1) & (km < 4600)
    paths = pd.DataFrame({"tx": tx[near], "rx": rx[near], "km": km[near]})
    for name, share in (("mid", 0.5), ("q1", 0.25), ("q3", 0.75)):
        paths[f"{name}_lat"], paths[f"{name}_lon"] = _between(points[paths["tx"]], points[paths["rx"]], share)
    low, high = np.minimum(paths["tx"], paths["rx"]), np.maximum(paths["tx"], paths["rx"])
    both_ways = (low * len(table) + high).to_numpy()
    unique, first, back = np.unique(both_ways, return_index=True, return_inverse=True)
    share = _sea_share(points[low.iloc[first]], points[high.iloc[first]])
    paths["sea"] = share[back]
    paths["kind"] = np.select([paths["sea"] < 0.1, paths["sea"] < 0.75], ["land", "mixed"], "sea")
    # The golden-ratio sequence spreads path qualities evenly without another random stream.
    paths["reluctance"] = 0.2 * (np.arange(len(unique))[back] * 0.6180339887 % 1)
    return paths


def _sea_share(a: np.ndarray, b: np.ndarray) -> np.ndarray:
    """Share of a hundred points along each path that lie on sea or a large lake.

    Counted here on the zone grid alone, so that a better way of following paths elsewhere leaves this set as it is.
    """
    wet = [
        np.isin(coast.zone_at(lat=lat, lon=lon), (0, 3))
        for lat, lon in (_between(a, b, share) for share in (np.arange(100) + 0.5) / 100)
    ]
    return np.mean(wet, axis=0)


def _unit(*, lat: np.ndarray, lon: np.ndarray) -> np.ndarray:
    phi, lam = np.radians(lat), np.radians(lon)
    return np.stack([np.cos(phi) * np.cos(lam), np.cos(phi) * np.sin(lam), np.sin(phi)], axis=1)


def _between(a: np.ndarray, b: np.ndarray, share: float) -> tuple[np.ndarray, np.ndarray]:
    angle = np.arccos(np.clip((a * b).sum(axis=1), -1, 1))[:, None]
    point = (np.sin((1 - share) * angle) * a + np.sin(share * angle) * b) / np.sin(angle)
    return np.degrees(np.arcsin(point[:, 2])), np.degrees(np.arctan2(point[:, 1], point[:, 0]))


def chance_of_report(
    paths: pd.DataFrame, table: pd.DataFrame, *, band: int, slot: int | np.ndarray, active, digital
) -> np.ndarray:
    """Chance that an open path gives a report in one slot, 0 where an end is absent or in another mode."""
    tx, rx = paths["tx"].to_numpy(), paths["rx"].to_numpy()
    role = table["role"].to_numpy()
    beacon, monitor, club = role[tx] == "beacon", role[rx] == "monitor", role[rx] == "club"
    tx_digital, rx_digital = digital[band, tx, slot], digital[band, rx, slot]
    chance = np.select(
        [
            beacon & monitor,
            beacon & club,
            beacon,
            tx_digital & monitor,
            monitor,
            club & (tx_digital == rx_digital),
            tx_digital & rx_digital,
            ~tx_digital & ~rx_digital,
        ],
        [0.55, 0.0, np.where(rx_digital, 0.0, 0.02), 0.55, 0.2, 0.5, 0.25, 0.08],
        0.0,
    )
    return chance * (active[band, tx, slot] & active[band, rx, slot])


def es_reports(paths, table, active_es: pd.DataFrame, rng, *, active, digital) -> pd.DataFrame:
    """Reports by sporadic E, one hop and two, on both bands."""
    one, two = paths[paths["km"].between(450, 2450)], paths[paths["km"].between(2450, 4600)]
    pieces = []
    for slot, patches in active_es.groupby("slot"):
        for part, spots in ((one, ("mid",)), (two, ("q1", "q3"))):
            field = np.min([_field(part, spot, patches) for spot in spots], axis=0)
            for band in (0, 1):
                needed = sky.required_mhz(part["km"].to_numpy() / len(spots), freq_mhz=FREQ_MHZ[band])
                margin = field / needed * rng.normal(1, 0.02, len(part))
                heard = np.flatnonzero(margin >= 1)
                if not len(heard):
                    continue
                near = part.iloc[heard]
                chance = chance_of_report(near, table, band=band, slot=slot, active=active, digital=digital)
                hit = rng.random(len(near)) < chance
                strength = np.minimum(25 * (margin[heard] - 1), 14) + 5 - 9 * (len(spots) - 1)
                pieces.append(_pieces(near[hit], slot, band, "ES", strength[hit]))
    return _joined(pieces)


def _field(paths: pd.DataFrame, spot: str, patches: pd.DataFrame) -> np.ndarray:
    """Critical frequency [MHz] over a point of each path: highest of the patches, 0 outside them."""
    lat, lon = paths[f"{spot}_lat"].to_numpy()[:, None], paths[f"{spot}_lon"].to_numpy()[:, None]
    north = 111.2 * (lat - patches["lat"].to_numpy())
    east = 111.2 * np.cos(np.radians(lat)) * (lon - patches["lon"].to_numpy())
    inside = 1 - (north**2 + east**2) / patches["radius_km"].to_numpy() ** 2
    above = (patches["mhz"].to_numpy() - sky.ES6_FLOOR_MHZ) * inside
    return np.where(inside > 0, sky.ES6_FLOOR_MHZ + above, 0).max(axis=1)


def tropo_reports(paths, table, excess: dict, rng, *, active, digital) -> pd.DataFrame:
    """Reports by ducts: land and sea paths follow their own weather, mixed paths a blend of both."""
    part = paths[paths["km"].between(LOCAL_KM, 1400) & ((paths["km"] < 900) | (paths["kind"] == "sea"))]
    km, sea = part["km"].to_numpy(), part["sea"].to_numpy()
    weight = np.select([part["kind"] == "land", part["kind"] == "sea"], [0.0, 1.0], sea)
    far = np.clip((km - 400) / np.where(part["kind"] == "sea", 1000, 500), 0, 1)
    need = 1.1 * far + part["reluctance"].to_numpy() + np.where(part["kind"] == "mixed", 0.15, 0.0)
    area = (
        (part["mid_lon"] > 1).to_numpy() + 2 * (part["mid_lat"] > 47).to_numpy() + 4 * (part["mid_lon"] < -5)
    )
    n_slots = active.shape[2]
    shade = np.maximum(0, 0.4 * np.stack([sky.autoregressive(rng, n_slots, hours=12) for _ in range(8)]))
    shade[0] = 0  # around home the region's weather is the weather
    pieces = []
    for slot in np.flatnonzero((excess["land2"] > 0) | (excess["sea2"] > 0)):
        blend = (1 - weight) * excess["land2"][slot] + weight * excess["sea2"][slot]
        margin = blend - need - shade[area.to_numpy(), slot]
        for band, extra in ((1, 0.0), (0, 0.7)):
            heard = np.flatnonzero(margin > extra)
            if not len(heard):
                continue
            near = part.iloc[heard]
            chance = chance_of_report(near, table, band=band, slot=slot, active=active, digital=digital)
            hit = rng.random(len(near)) < 0.45 * chance
            strength = 9 * (margin[heard] - extra) - 1 - 0.006 * km[heard]
            pieces.append(_pieces(near[hit], slot, band, "TR", strength[hit]))
    return _joined(pieces)


def sprinkled(
    paths, table, rng, *, active, digital, band: int, mechanism: str, rate: float, when: np.ndarray
) -> pd.DataFrame:
    """Reports that need no opening: local ones, meteors, aircraft; `rate` per path and slot where `when` is 1."""
    n_slots = active.shape[2]
    n = rng.poisson(rate * len(paths) * n_slots)
    near = paths.iloc[rng.integers(0, len(paths), n)]
    slot = rng.integers(0, n_slots, n)
    chance = chance_of_report(near, table, band=band, slot=slot, active=active, digital=digital)
    hit = (rng.random(n) < when[slot]) & (rng.random(n) < np.minimum(1, 2 * chance))
    strength = {"LOS": 8.0, "MS": -4.0, "AS": -7.0}[mechanism] - near["km"].to_numpy()[hit] / 60 * (
        mechanism == "LOS"
    )
    return _pieces(near[hit], slot[hit], band, mechanism, strength)


def meteor_weight(slots: pd.DatetimeIndex) -> np.ndarray:
    """Relative meteor rate per slot, 1 at its highest: strongest at six in the morning and in showers."""
    hour = sky.solar_hour(slots, lon=sky.REGION["lon"])
    daily = 1 + 0.6 * np.sin(np.pi * hour / 12)
    doy = slots.day_of_year.to_numpy()
    shower = sum(s * np.exp(-0.5 * ((doy - day) / 1.5) ** 2) for day, s in SHOWERS.items())
    return np.minimum(1, daily * (1 + shower) / 4)


def keep_alives(paths, table, rng, *, active, digital) -> pd.DataFrame:
    """Each automatic receiver reports its local beacon, or a neighbour, about every 50 minutes."""
    pieces = []
    n_slots = active.shape[2]
    roles = table["role"].to_numpy()
    for site in np.flatnonzero(roles == "monitor"):
        near = paths[(paths["rx"] == site) & (paths["km"] < LOCAL_KM)]
        for band in (0, 1):
            fixed = near[(roles[near["tx"]] == "beacon") & active[band, near["tx"], 0]]
            if fixed.empty or not active[band, site].any():
                continue
            minutes = np.cumsum(rng.integers(50, 57, n_slots // 4))
            minutes = minutes[minutes < n_slots * sky.SLOT_MIN]
            slot = minutes // sky.SLOT_MIN
            heard = active[band, site, slot]
            pick = fixed.iloc[np.zeros(heard.sum(), int)]
            reports = _pieces(pick, slot[heard], band, "LOS", np.full(len(pick), 6.0))
            pieces.append(reports.assign(minute=minutes[heard] % sky.SLOT_MIN))
    return _joined(pieces)


def _pieces(paths: pd.DataFrame, slot, band: int, mechanism: str, strength) -> pd.DataFrame:
    return pd.DataFrame(
        {
            "slot": np.broadcast_to(slot, len(paths)).astype(int),
            "tx": paths["tx"].to_numpy(),
            "rx": paths["rx"].to_numpy(),
            "km": paths["km"].to_numpy(),
            "band": band,
            "mechanism": mechanism,
            "path": paths["kind"].to_numpy(),
            "strength": strength,
            "minute": np.nan,
        }
    )


def _joined(pieces: list[pd.DataFrame]) -> pd.DataFrame:
    empty = _pieces(pd.DataFrame({"tx": [], "rx": [], "km": [], "kind": []}, dtype=int), [], 0, "ES", [])
    return pd.concat([piece for piece in pieces if len(piece)] or [empty], ignore_index=True)


def as_received(
    reports: pd.DataFrame, table: pd.DataFrame, slots: pd.DatetimeIndex, rng: np.random.Generator, *, digital
) -> pd.DataFrame:
    """Give reports their mode, time, frequency and SNR, and lose those below the mode's threshold.

    Returns
    -------
    DataFrame
        `time tx rx band mode mhz snr_db mechanism path km`, in order of time.
    """
    n = len(reports)
    band, tx, rx = (reports[name].to_numpy() for name in ("band", "tx", "rx"))
    mode = _modes(reports, table, rng, digital=digital)
    gain = table["gain_db"].to_numpy()
    power = np.nan_to_num(10 * np.log10(table["power_w"].to_numpy() / 50))
    snr = (reports["strength"] + gain[tx] + gain[rx] + power[tx] + rng.normal(0, 4, n)).to_numpy()
    received = pd.DataFrame(
        {
            "time": slots[reports["slot"]] + pd.to_timedelta(_seconds(reports, mode, rng), unit="s"),
            "tx": tx,
            "rx": rx,
            "band": band,
            "mode": mode,
            "mhz": _frequency(mode, band, tx, table, rng),
            "snr_db": np.rint(np.clip(snr, -30, 20)),
            "mechanism": reports["mechanism"],
            "path": reports["path"],
            "km": reports["km"],
        }
    )
    kept = (snr >= received["mode"].map(THRESHOLD_DB).to_numpy()) | (received["mechanism"] == "LOS")
    # One report of a pair at a time: equal rows in the files are then only those put in on purpose.
    received = received[kept].drop_duplicates(["time", "tx", "rx", "band"])
    return received.sort_values("time", kind="stable", ignore_index=True)


def _modes(reports: pd.DataFrame, table: pd.DataFrame, rng: np.random.Generator, *, digital) -> np.ndarray:
    """Mode of each report; an automatic receiver reads Morse but no voice."""
    n, tx, band = len(reports), reports["tx"].to_numpy(), reports["band"].to_numpy()
    role, mechanism = table["role"].to_numpy(), reports["mechanism"].to_numpy()
    is_digital = digital[band, tx, reports["slot"]] & (role[tx] != "beacon")
    morse = (role[tx] == "beacon") | (role[reports["rx"]] == "monitor") | (rng.random(n) < 0.45)
    mode = np.where(is_digital, "FT8", np.where(morse, "CW", "SSB")).astype(object)
    mode[table["call"].isin(people.SLOW_BEACONS).to_numpy()[tx]] = "WSPR"
    mode[(mechanism == "MS") & is_digital & (rng.random(n) < 0.7)] = "MSK144"
    mode[(mechanism == "LOS") & (mode == "SSB") & (band == 1) & (rng.random(n) < 0.4)] = "FM"
    return mode


def _seconds(reports: pd.DataFrame, mode: np.ndarray, rng: np.random.Generator) -> np.ndarray:
    """Seconds into the slot at which each report starts, on the beat of its mode."""
    n = len(reports)
    quarter, minute = 15 * rng.integers(0, 40, n), 60 * rng.integers(0, 10, n)
    start = np.where(np.isin(mode, ["FT8", "MSK144"]), quarter, minute)
    start = np.where(mode == "WSPR", start // 120 * 120, start)  # even minutes
    # The round of automatic reports keeps its own minute: no gap longer than 56.
    return (60 * reports["minute"]).fillna(pd.Series(start, index=reports.index)).to_numpy()


def _frequency(mode, band, tx, table: pd.DataFrame, rng) -> np.ndarray:
    """Where a signal of this mode is found [MHz], by common practice."""
    n = len(band)
    khz = np.select(
        [
            (mode == "FT8") & (band == 0),
            mode == "FT8",
            (mode == "MSK144") & (band == 0),
            mode == "MSK144",
            mode == "CW",
            mode == "SSB",
        ],
        [313, 174, 280, 360, 50 + rng.integers(0, 45, n), 130 + 5 * rng.integers(0, 30, n)],
        1500 - 1000 * (band == 0),
    )
    beacon = np.stack([people.beacon_mhz(table, band=0), people.beacon_mhz(table, band=1)])[band, tx]
    return np.where(np.isnan(beacon), np.round(np.array([50, 144])[band] + khz / 1000, 3), beacon)
