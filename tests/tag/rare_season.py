"""A seeded year, high in the solar cycle, with aircraft, aurora, F2 and trans-equatorial openings, truth known.

Written from published limits (geometry, local time, geomagnetism, season), not from the tables that
`likelihoods` holds: a curtain of aurora that both ends must see, the true dip equator rather than the
dipole's, F2 where it is day at the midpoint, aircraft that pass within minutes. Everyday sporadic E,
tropo, meteors and local signals of `mixed_season` go on beneath.
"""

import numpy as np
import pandas as pd

from analysis.physics import scatter
from analysis.tag import coast, paths
from tests.tag import mixed_season as plain

YEAR_MIN = 365 * 1440
EARTH_KM = 6371.0
# longitude west to east, latitude south to north, stations
REGIONS = [(-9, 18, 37, 57, 46), (8, 28, 55, 66, 14), (-95, -72, 28, 45, 16), (-70, -55, 10, 19, 8)]
REGIONS += [(-70, -48, -38, -22, 10), (18, 31, -34, -24, 8), (130, 142, 31, 40, 12), (138, 152, -38, -20, 10)]
# The dip equator [degrees north] by longitude, read off usual maps of magnetic inclination (from memory).
DIP_EQUATOR = (
    [-180, -120, -90, -75, -60, -45, -20, 0, 40, 80, 120, 150, 180],
    [2, -4, -11, -12, -8, -2, 8, 10, 10, 8, 8, 6, 2],
)


def rare_season(*, seed, degraded=False):
    """Spot table of a year and the true mechanism of each row; `degraded` keeps 12 % and half the SNR."""
    rng = np.random.default_rng(seed)
    stations, pairs = _network(rng)
    near = pairs[pairs["distance_km"] < 2500]
    everyday = [
        part.assign(minute=part["minute"] + block * plain.DAYS * 1440)
        for block in range(3)
        for part in _everyday(rng, near, summer=block == 0)
    ]
    rare = [
        _aircraft(rng, near),
        _aurora(rng, stations, near),
        _f2(rng, pairs),
        _tep(rng, stations, pairs),
        _far_e(rng, pairs),
    ]
    rows = pd.concat(everyday + rare, ignore_index=True)
    heard = ~(rows["snr_db"] < rows["mode"].map(plain.THRESHOLD_DB)) & (rows["minute"] < YEAR_MIN)
    rows = rows[heard].sort_values("minute", ignore_index=True)
    if degraded:
        rows = rows[rng.random(len(rows)) < 0.12].reset_index(drop=True)
        rows.loc[rng.random(len(rows)) < 0.5, "snr_db"] = np.nan
    rows.loc[~rows["mode"].isin(["FT8", "MSK144"]), "snr_db"] = np.nan
    return plain._as_table(rows, stations), rows["truth"].to_numpy()


def _everyday(rng, pairs, *, summer):
    parts = [plain._tropo(rng, pairs), plain._troposcatter(rng, pairs), plain._local(rng, pairs)]
    parts.append(plain._meteors(rng, pairs, as_ft8=0.5))
    return [*parts, plain._sporadic_e(rng, pairs)] if summer else parts


def _network(rng):
    place = [
        np.column_stack([rng.uniform(west, east, n), rng.uniform(south, north, n)])
        for west, east, south, north, n in REGIONS
    ]
    stations = pd.DataFrame(np.concatenate(place), columns=["lon", "lat"])
    tx, rx = (index.ravel() for index in np.meshgrid(np.arange(len(stations)), np.arange(len(stations))))
    tx, rx = tx[tx != rx], rx[tx != rx]
    ends = {
        f"{name}{number}": stations[name].to_numpy()[side]
        for number, side in ((1, rx), (2, tx))
        for name in ("lon", "lat")
    }
    pairs = paths.geodesics(**ends).assign(tx=tx, rx=rx)
    pairs["sea_share"] = coast.path_shares(**ends)["sea_share"]
    return stations, pairs


def _unit(lon, lat):
    east, north = np.radians(lon), np.radians(lat)
    return np.column_stack([np.cos(north) * np.cos(east), np.cos(north) * np.sin(east), np.sin(north)])


def _utc_hour(solar_hour, lon):
    """UTC hour at which it is that hour of local solar time, the equation of time left aside."""
    return solar_hour - np.asarray(lon) / 15


def _aircraft(rng, pairs):
    """Passages of one to five minutes that a few pairs under the same flight path share, 6 to 23 local."""
    reach = pairs[pairs["distance_km"].between(250, float(scatter.aircraft_reach(11.0)))]
    parts = []
    for _ in range(300):
        hit = reach.iloc[[rng.integers(0, len(reach))]]
        centre = hit["mid_lon"].iloc[0], hit["mid_lat"].iloc[0]
        under = reach[(plain._km_from(centre, reach) < 60) & (rng.random(len(reach)) < 0.5)]
        minute = rng.integers(0, 365) * 1440 + 60 * _utc_hour(rng.uniform(6, 23), centre[0])
        rows = plain._times(
            rng, minute, rng.uniform(1, 5), pd.concat([hit, under]).drop_duplicates(["tx", "rx"]), 30.0
        )
        band = rng.choice(["2m", "70cm"], p=[0.7, 0.3])
        parts.append(
            rows.assign(
                band=band,
                mode=rng.choice(["FT8", "SSB", "CW"]),
                snr_db=rng.normal(-12, 5, len(rows)),
                truth="AS",
            )
        )
    return pd.concat(parts, ignore_index=True)


def _aurora(rng, stations, pairs):
    """Storms near the equinoxes: a curtain at 63 to 67 degrees of geomagnetic latitude that both ends see.

    Noise-like echoes carry Morse and voice, no slow digital mode.
    """
    dipole = _unit(np.array([-72.68]), np.array([80.65]))[0]
    # Points of a curtain: on circles around the dipole, at 100 km height seen from some 1100 km.
    lon, lat = (part.ravel() for part in np.meshgrid(np.arange(-180, 180, 2.0), np.arange(45, 76, 1.0)))
    points = _unit(lon, lat)
    magnetic = np.degrees(np.arcsin(points @ dipole))
    away = EARTH_KM * np.arccos(np.clip(_unit(stations["lon"], stations["lat"]) @ points.T, -1, 1))
    parts = []
    for _ in range(22):
        edge = rng.uniform(61, 67)
        curtain = (np.abs(magnetic - edge) < 1) & (lon > rng.uniform(-40, 0)) & (lon < rng.uniform(15, 50))
        sees = away[:, curtain] < 1100
        both = (sees[pairs["tx"]] & sees[pairs["rx"]]).any(axis=1)
        open_ = pairs[both & (rng.random(len(pairs)) < 0.12) & (pairs["distance_km"] > 100)]
        day = (
            rng.choice([rng.normal(335, 18), rng.normal(155, 18)]) % 365
        )  # from 20 April: mid March, late September
        hour = _utc_hour(rng.choice([rng.normal(18, 1.2), rng.normal(24, 1.2)], p=[0.7, 0.3]), 10)
        for band, share in (("6m", 0.7), ("2m", 0.5)):
            rows = plain._times(
                rng,
                int(day) * 1440 + hour * 60,
                rng.uniform(40, 200),
                open_[rng.random(len(open_)) < share],
                0.8,
            )
            parts.append(
                rows.assign(
                    band=band,
                    mode=rng.choice(["CW", "SSB"], len(rows), p=[0.7, 0.3]),
                    snr_db=np.nan,
                    truth="AUR",
                )
            )
    return pd.concat(parts, ignore_index=True)


def _f2(rng, pairs):
    """6 m by day from October to March: 3000 km and more, the midpoint between 9 and 17 solar time, far from the equator."""
    far = pairs[pairs["distance_km"].between(3000, 9500) & (np.abs(pairs["mid_lat"]) > 25)]
    parts = []
    for _ in range(60):
        middle = far.iloc[rng.integers(0, len(far))]
        around = far[plain._km_from((middle["mid_lon"], middle["mid_lat"]), far) < rng.uniform(500, 1500)]
        day = int(rng.uniform(165, 340))
        if middle["mid_lat"] < 0:
            day = (day + 183) % 365
        minute = day * 1440 + 60 * _utc_hour(rng.uniform(9.5, 15.5), middle["mid_lon"])
        rows = plain._times(rng, minute, rng.uniform(20, 120), around[rng.random(len(around)) < 0.08], 2.0)
        parts.append(
            rows.assign(
                band="6m", mode=plain._mode(rng, len(rows)), snr_db=rng.normal(-5, 8, len(rows)), truth="F2"
            )
        )
    return pd.concat(parts, ignore_index=True)


def _tep(rng, stations, pairs):
    """6 m around the equinoxes: ends about as far north as south of the dip equator, afternoon or late evening."""
    dip = stations["lat"].to_numpy() - np.interp(stations["lon"], *DIP_EQUATOR)
    tx, rx = dip[pairs["tx"]], dip[pairs["rx"]]
    turned = np.abs((pairs["bearing_deg"] + 90) % 180 - 90)  # off the meridian
    over = (tx * rx < 0) & (np.abs(tx + rx) < 15) & pairs["distance_km"].between(4000, 9000) & (turned < 35)
    reach = pairs[over]
    parts = []
    for _ in range(70):
        middle = reach.iloc[rng.integers(0, len(reach))]
        around = reach[plain._km_from((middle["mid_lon"], middle["mid_lat"]), reach) < 900]
        day = int(rng.choice([rng.normal(340, 22), rng.normal(165, 22)])) % 365
        solar = rng.choice([rng.uniform(14.5, 19), rng.uniform(19.5, 22)])
        minute = day * 1440 + 60 * _utc_hour(solar, middle["mid_lon"])
        rows = plain._times(rng, minute, rng.uniform(20, 100), around[rng.random(len(around)) < 0.2], 2.0)
        parts.append(
            rows.assign(
                band="6m", mode=plain._mode(rng, len(rows)), snr_db=rng.normal(-6, 8, len(rows)), truth="TEP"
            )
        )
    return pd.concat(parts, ignore_index=True)


def _far_e(rng, pairs):
    """Sporadic E of three hops and more on 6 m in high summer, the same distances as F2."""
    far = pairs[pairs["distance_km"].between(4500, 8500) & (pairs["mid_lat"] > 25)]
    parts = []
    for _ in range(25):
        middle = far.iloc[rng.integers(0, len(far))]
        around = far[plain._km_from((middle["mid_lon"], middle["mid_lat"]), far) < 1000]
        minute = int(rng.normal(62, 16)) * 1440 + 60 * _utc_hour(rng.normal(17, 2), middle["mid_lon"])
        rows = plain._times(rng, minute, rng.uniform(20, 120), around[rng.random(len(around)) < 0.05], 1.5)
        parts.append(rows.assign(band="6m", mode="FT8", snr_db=rng.normal(-11, 5, len(rows)), truth="ES"))
    return pd.concat(parts, ignore_index=True)
