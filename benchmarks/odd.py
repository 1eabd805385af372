"""Odd but valid spot tables through every stage: no fault, and what is read back is what was saved.

python -m benchmarks.odd --tables 2000

Each table holds what a checked spot table may hold and hardly any does: poles and the date line, one path at
all times, a station that hears itself, years apart, one minute, no mode, no square, powers of a thousand
kilowatts, every band, declared hours that overlap. It is tagged, openings are found and chances fitted; the
tables are saved and loaded; the ten lines and the articles are written from what was loaded, and for one of
`--every` the pictures and the card too, which take longer than all else.
"""

from __future__ import annotations

import argparse
import os
import random
import tempfile
import time
import traceback
from collections import Counter
from pathlib import Path

import numpy as np
import pandas as pd

from analysis import products, review, tables
from analysis.gather import files, locators
from analysis.gather.problems import InputError
from analysis.gather.spots import as_spots
from analysis.show.page.answers import ten_lines

BANDS = ["160m", "20m", "10m", "6m", "6m", "4m", "2m", "2m", "1.25m", "70cm", "23cm"]
MODES = ["", "CW", "SSB", "FM", "FT8", "MSK144", "WSPR", "DIGI", "SSTV"]
DOUBTS = ["", "", "", "", "worked once; =1+1"]


def odd_table(rng: random.Random) -> files.Gathered:
    """A valid spot table of a kind that hardly occurs, with its beacons and hours, as `gather_files` returns it."""
    n = rng.choice([1, 2, 3, 10, 60, 200])
    numbers = np.random.default_rng(rng.randrange(2**32))
    stations = [_call(rng) for _ in range(rng.choice([1, 2, 5, 30]))]
    squares = dict.fromkeys(stations, "")
    squares |= {call: _square(rng) for call in stations if rng.random() < 0.9}
    start = pd.Timestamp(
        rng.choice(["1950-12-31 23:59", "2024-02-29", "2024-06-20", "2099-07-01", "2026-01-01"])
    )
    span = rng.choice([0, 1 / 24, 1, 40, 400, 2500])
    minutes = np.sort(numbers.uniform(0, span * 1440, n)).round(rng.choice([0, 3]))
    tx, rx = numbers.choice(stations, n), numbers.choice(stations, n)
    table = pd.DataFrame(
        {
            "time": pd.Timestamp(start, tz="UTC") + pd.to_timedelta(minutes, unit="min"),
            "band": numbers.choice(rng.sample(BANDS, k=rng.choice([1, 2, len(BANDS)])), n),
            "freq_mhz": np.where(numbers.random(n) < 0.5, np.nan, numbers.uniform(1.8, 2400, n)),
            "mode": numbers.choice(rng.sample(MODES, k=rng.choice([1, 3, len(MODES)])), n),
            "tx_call": tx,
            "rx_call": np.where(numbers.random(n) < 0.05, "", rx),
            "tx_locator": [squares[call] for call in tx],
            "rx_locator": [squares[call] for call in rx],
            "snr_db": np.where(numbers.random(n) < 0.3, np.nan, numbers.integers(-60, 120, n)),
            "tx_power_dbm": np.where(numbers.random(n) < 0.7, np.nan, numbers.uniform(-60, 90, n)),
            "kind": numbers.choice(rng.choice([["heard"], ["worked"], ["heard", "worked"]]), n),
            "prop_mode": numbers.choice(["", "ES", "TR", "EME", "SAT"], n),
            "doubt": numbers.choice(DOUBTS, n),
            "source": numbers.choice(["=a,b.csv", "log.adi"], n),
            "source_row": np.arange(1, n + 1),
        }
    )
    return _gathered(as_spots(table), stations, squares, rng)


def _gathered(spots: pd.DataFrame, stations: list[str], squares: dict[str, str], rng) -> files.Gathered:
    """The table as if it had been read, some of its stations on a beacon list, some hours declared."""
    listed = stations[: rng.choice([0, 0, 1, 3])]
    beacons = pd.DataFrame({"call": listed, "locator": [squares[c] for c in listed], "freq_mhz": np.nan})
    begin = spots["time"].min()
    hours = [begin + pd.Timedelta(hours=rng.uniform(-5, 50)) for _ in range(rng.choice([0, 0, 4]))]
    longer = pd.Timedelta(hours=rng.choice([0, 1, 30]))
    declared = pd.DataFrame({"start": hours, "end": [one + longer for one in hours]})
    declared = declared.assign(station=rng.choice(stations), band="6m")[list(files.LISTENING)]
    told = files.as_read({}, set_aside=[files.problems.no_rows()])
    counts = spots["source"].astype("str").value_counts()
    account = pd.DataFrame({"source": counts.index, "rows_in": counts.to_numpy(), "kept": counts.to_numpy()})
    return files.Gathered(
        spots=spots.sort_values(["time", "source", "source_row"], ignore_index=True),
        beacons=beacons.astype(files.BEACONS),
        listening=declared.astype(files.LISTENING),
        set_aside=told.set_aside,
        account=account.assign(set_aside=0, duplicates=0, doubted=0),
        guesses=told.guesses,
        notes=told.notes,
    )


def _call(rng: random.Random) -> str:
    tail = "".join(rng.choice("ABCXYZ") for _ in range(rng.choice([1, 2, 3, 7])))
    return f"Q{rng.randrange(10)}{tail}{rng.choice(['', '', '', '/P', '/B', '/MM', '/R'])}"


def _square(rng: random.Random) -> str:
    """A locator anywhere, often at a pole, at the equator or at the date line."""
    lat = rng.choice([rng.uniform(-90, 89.99), rng.uniform(30, 60), 89.99, -90.0, 0.0, 66.5])
    lon = rng.choice([rng.uniform(-180, 179.99), rng.uniform(-10, 20), 179.99, -180.0, 0.0])
    return locators.encode(lat=lat, lon=lon)[: rng.choice([4, 6, 6, 8])]


def through(gathered: files.Gathered, folder: Path, *, home: str, pictures: bool) -> str:
    """Every stage; `done`, or the one line with which it was refused. Anything else is raised."""
    try:
        made = review.analyse(gathered, owner=review.Owner(home=home, zone="Asia/Kathmandu"))
    except InputError as told:
        return f"refused: {str(told)[:60]}"
    n = len(gathered.spots)
    assert len(made.spots) == n, "rows lost in tag or find"
    tables.save(made, folder / "tables")
    read = tables.load(folder / "tables")
    for name in ("openings", "days", "daily", "season", "windows"):
        one, other = getattr(made, name), getattr(read, name)
        assert one.shape == other.shape, f"{name}: {one.shape} saved, {other.shape} read back"
    assert ten_lines(read).data
    words = products.draw_figures(read, folder / "figures") if pictures else {}
    for ending in (".md", ".html"):
        told = {"figures": folder / "figures", "captions": words, "club": "<b>&"}
        products.write_article(read, folder / f"a{ending}", **told)
    if pictures:
        products.write_shack_card(read, folder / "card.pdf")
    review._write_opening(folder / "opening.html", read)
    return "done"


def main(*, number: int, seed: int, every: int) -> Counter:
    """Make so many tables and put each through; count how they ended."""
    done, start = Counter(), time.time()
    for turn in range(number):
        rng = random.Random(seed * 1_000_003 + turn)
        gathered, home = odd_table(rng), rng.choice(["IN93", _square(rng)])
        with tempfile.TemporaryDirectory() as place:
            try:
                ended = through(gathered, Path(place), home=home, pictures=turn % every == every - 1)
            except Exception:  # noqa: BLE001 - the fault is what is counted
                print(f"--seed {seed}, table {turn}\n{traceback.format_exc()}", flush=True)
                ended = "FAULT"
        done[ended] += 1
        if turn % 20 == 19:
            print(f"{turn + 1} tables, {time.time() - start:.0f} s: {dict(done)}", flush=True)
    return done


if __name__ == "__main__":
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--tables", type=int, default=2000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--every", type=int, default=20, help="of these, one with pictures")
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory() as private:
        os.environ["XDG_CACHE_HOME"] = private
        print(dict(main(number=asked.tables, seed=asked.seed, every=asked.every)))
