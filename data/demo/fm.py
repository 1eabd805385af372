"""Notes of the FM broadcast band by a tuner that runs in the club's shack, and the places of what it heard.

The sky is the one of all other files; these notes draw from a stream of their own, so that those stay as
they are. Every place and name is invented.
"""

from __future__ import annotations

import numpy as np
import pandas as pd
import people
import sky

# name, latitude, longitude, frequency [MHz]
TRANSMITTERS = (
    ("Monte Aguja", 37.2, -3.4, 89.6), ("Cabo Pardo", 36.9, -8.2, 95.3), ("Isla Torno", 28.4, -16.2, 99.1),
    ("Colle Raro", 42.6, 12.9, 90.7), ("Punta Secca", 37.9, 15.1, 94.8), ("Isola Bassa", 40.1, 8.8, 101.9),
    ("Hoge Wiek", 52.9, 5.9, 96.8), ("Flint Beacon Hill", 53.4, -1.9, 92.1), ("Carn Dubh", 56.9, -4.4, 98.5),
    ("Slieve Corr", 53.1, -7.9, 88.5), ("Grauberg", 50.6, 9.8, 102.4), ("Weisse Kuppe", 47.9, 13.2, 100.6),
    ("Puy Sombre", 45.6, 2.7, 97.2), ("Mont Galet", 48.4, -0.6, 93.7), ("Sierra Honda", 40.6, -4.1, 91.4),
    ("Roc Perdu", 43.5, 2.6, 104.1), ("Serra Calva", 41.2, -8.1, 92.8), ("Alto Ventoso", 38.7, -9.3, 88.1),
    ("Punta Blanca", 36.4, -5.9, 97.6), ("Cerro Luna", 36.8, -2.3, 103.2), ("Jebel Sidi", 35.1, -1.8, 94.1),
    ("Djebel Amar", 36.3, 3.4, 90.2), ("Djebel Zerga", 36.6, 7.2, 99.7), ("Capo Alto", 39.1, 9.1, 95.9),
    ("Monte Ferro", 40.9, 14.6, 91.9), ("Colle Lungo", 41.2, 16.4, 105.3), ("Otok Mali", 43.6, 16.1, 88.9),
    ("Visoki Hrib", 45.9, 15.2, 98.1), ("Vysoka Skala", 49.2, 15.3, 93.1), ("Kahler Rucken", 51.6, 11.4, 87.9),
    ("Nordheide", 53.1, 9.9, 103.6), ("Lange Duin", 51.3, 4.1, 100.2), ("Klitbakke", 55.6, 9.1, 96.2),
    ("Fjellhatten", 58.7, 6.6, 89.1), ("Stor Knaus", 58.4, 11.9, 101.3), ("Lochnamor", 57.6, -6.1, 94.3),
    ("Cnoc Fada", 54.6, -6.6, 91.1), ("Moel Ddu", 52.3, -3.8, 99.4), ("Long Down", 51.1, -2.3, 97.9),
    ("Ilha Verde", 37.7, -25.4, 98.6),
)  # fmt: skip
FM_MHZ = 98.0
SHARE_OF_DAYS = 0.75  # on which the tuner runs, from breakfast until the evening
NOTED = 0.4  # of ten-minute slots in which a transmitter could be heard
DUCT = 0.6  # how far the weather must stand above what a duct on 2 m needs
COLUMNS = ["time utc", "MHz", "transmitter", "listener"]


def one_season(above: dict, rng: np.random.Generator) -> dict[str, pd.DataFrame]:
    """What was noted in a season, when the tuner ran, and what could have been heard.

    Returns
    -------
    dict of DataFrame
        `notes` (`COLUMNS` and the true `mechanism`), `hours` (`station band start end`), `open` (`start end
        mechanism`, when some transmitter could be heard, whoever listened).
    """
    slots = above["slots"]
    on, hours = _hours(slots, rng)
    heard = {"ES": _by_es(above["active_es"], n=len(slots)), "TR": _by_duct(above["excess"])}
    notes = [_notes(open_, mechanism, slots, on, rng) for mechanism, open_ in heard.items()]
    runs = [_runs(open_.any(axis=1), slots).assign(mechanism=mechanism) for mechanism, open_ in heard.items()]
    return {
        "notes": pd.concat(notes).sort_values(["time utc", "transmitter"], ignore_index=True),
        "hours": hours,
        "open": pd.concat(runs).sort_values(["start", "mechanism"], ignore_index=True),
    }


def places() -> pd.DataFrame:
    """The listener's own list: `place latitude longitude`."""
    rows = [(name, lat, lon) for name, lat, lon, _ in TRANSMITTERS]
    return pd.DataFrame(rows, columns=["place", "latitude", "longitude"])


def _paths() -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Length of the path to each transmitter [km], and latitude and longitude of its middle."""
    lat, lon = (np.radians([row[place] for row in TRANSMITTERS]) for place in (1, 2))
    home_lat, home_lon = np.radians(people.home())
    ends = np.stack([np.cos(lat) * np.cos(lon), np.cos(lat) * np.sin(lon), np.sin(lat)], axis=1)
    home = np.array(
        [np.cos(home_lat) * np.cos(home_lon), np.cos(home_lat) * np.sin(home_lon), np.sin(home_lat)]
    )
    middle = ends + home
    middle /= np.linalg.norm(middle, axis=1, keepdims=True)
    km = sky.EARTH_KM * np.arccos(ends @ home)
    return km, np.degrees(np.arcsin(middle[:, 2])), np.degrees(np.arctan2(middle[:, 1], middle[:, 0]))


def _by_es(active: pd.DataFrame, *, n: int) -> np.ndarray:
    """Whether each transmitter could be heard by sporadic E in each slot (slots by transmitters)."""
    km, lat, lon = _paths()
    north = 111.2 * (lat - active["lat"].to_numpy()[:, None])
    east = 111.2 * np.cos(np.radians(lat)) * (lon - active["lon"].to_numpy()[:, None])
    inside = 1 - (north**2 + east**2) / active["radius_km"].to_numpy()[:, None] ** 2
    field = sky.ES6_FLOOR_MHZ + (active["mhz"].to_numpy()[:, None] - sky.ES6_FLOOR_MHZ) * inside
    needed = np.where((km > 450) & (km < 2450), sky.required_mhz(km, freq_mhz=FM_MHZ), np.inf)
    heard = np.zeros((n, len(km)), bool)
    np.logical_or.at(heard, active["slot"].to_numpy(), (inside > 0) & (field >= needed))
    return heard


def _by_duct(excess: dict[str, np.ndarray]) -> np.ndarray:
    """Whether each transmitter could be heard through a duct over land in each slot."""
    km = _paths()[0]
    need = DUCT + 1.1 * np.clip((km - 250) / 500, 0, 1)
    return (excess["land2"][:, None] > need) & (km < 700)


def _hours(slots: pd.DatetimeIndex, rng: np.random.Generator) -> tuple[np.ndarray, pd.DataFrame]:
    """When the tuner ran, slot by slot and as the club wrote it down."""
    days = slots.normalize().unique()
    days = days[days.month.isin(range(3, 11)) & (rng.random(len(days)) < SHARE_OF_DAYS)]
    start = days + pd.to_timedelta(10 * rng.integers(39, 49, len(days)), unit="min")
    end = days + pd.to_timedelta(10 * rng.integers(114, 132, len(days)), unit="min")
    hours = pd.DataFrame({"station": people.CLUB_CALL, "band": "FM", "start": start, "end": end})
    step = np.zeros(len(slots) + 1, int)
    np.add.at(step, slots.searchsorted(start), 1)
    np.add.at(step, slots.searchsorted(end), -1)
    return np.cumsum(step)[:-1] > 0, hours


def _notes(
    heard: np.ndarray, mechanism: str, slots, on: np.ndarray, rng: np.random.Generator
) -> pd.DataFrame:
    """One note for each transmitter and hour at most."""
    slot, number = np.nonzero(heard & on[:, None] & (rng.random(heard.shape) < NOTED))
    time = slots[slot] + pd.to_timedelta(rng.integers(0, 10, len(slot)), unit="min")
    table = pd.DataFrame({"time utc": time, "number": number, "hour": time.floor("h")})
    table = table.drop_duplicates(["number", "hour"])
    names, mhz = (np.array([row[place] for row in TRANSMITTERS])[table["number"]] for place in (0, 3))
    return table.assign(MHz=mhz, transmitter=names, listener=people.CLUB_CALL, mechanism=mechanism)[
        [*COLUMNS, "mechanism"]
    ]


def _runs(open_: np.ndarray, slots: pd.DatetimeIndex) -> pd.DataFrame:
    """`start end` of runs of open slots."""
    edge = np.diff(np.concatenate([[0], open_.astype(int), [0]]))
    first, past = np.flatnonzero(edge == 1), np.flatnonzero(edge == -1)
    return pd.DataFrame({"start": slots[first], "end": slots[past - 1] + pd.Timedelta("10min")})
