"""How long gathering takes beside the bare reading and writing of the same bytes.

python benchmarks/gather.py            one million rows of CSV in several shapes, 100 000 ADIF records: ratios, memory
python benchmarks/gather.py --spoiled 100000   so many spoiled files: tracebacks and lost rows
python benchmarks/gather.py --kills 200      so many kills of a gathering into a store
"""

import argparse
import os
import random
import resource
import signal
import sys
import tempfile
import time
from pathlib import Path

import numpy as np
import pandas as pd
import pyarrow.csv as arrow_csv
from pyarrow import parquet

sys.path.insert(0, str(Path(__file__).parents[1]))

from analysis.gather import locators
from analysis.gather.files import gather_files
from analysis.gather.reading import adif
from analysis.gather.store import add_to_store, read_store
from benchmarks import spoiled
from tests.gather.logs import contact, season_log


def reports(rows: int) -> pd.DataFrame:
    """An invented table of reports: 400 receivers, 2 000 transmitters, 180 days."""
    rng = np.random.default_rng(1)
    squares = np.array(
        [
            locators.encode(lat=float(rng.uniform(36, 60)), lon=float(rng.uniform(-10, 20)))
            for _ in range(2400)
        ]
    )
    calls = np.array(
        [f"Q{i % 10}{chr(65 + i // 260 % 26)}{chr(65 + i // 10 % 26)}{i:04}"[:6] + "A" for i in range(2400)]
    )
    tx, rx = rng.integers(400, 2400, rows), rng.integers(0, 400, rows)
    start = np.datetime64("2024-04-01T00:00:00")
    seconds = np.sort(rng.integers(0, 180 * 5760, rows)) * 15
    return pd.DataFrame(
        {
            "time": np.datetime_as_string(start + seconds.astype("timedelta64[s]")),
            "freq MHz": np.round(np.where(rng.random(rows) < 0.7, 50.313, 144.174) + tx % 25 / 1e4, 6),
            "mode": "FT8",
            "tx call": calls[tx],
            "tx locator": squares[tx],
            "rx call": calls[rx],
            "rx locator": squares[rx],
            "snr": rng.integers(-24, 12, rows),
        }
    )


def spots_csv(path: Path, *, rows: int) -> None:
    """One time in each row, decimal points, commas between."""
    reports(rows).to_csv(path, index=False)


def region_csv(path: Path, *, rows: int) -> None:
    """As the demo's region writes it: date and time of day apart, kilohertz with decimal commas, semicolons."""
    table = reports(rows)
    day, clock = table["time"].str[:10].str.split("-"), table["time"].str[11:]
    table.insert(0, "date", day.str[::-1].str.join("."))
    table.insert(1, "time utc", clock)
    table["frequency kHz"] = table.pop("freq MHz") * 1000
    table.drop(columns="time").to_csv(path, index=False, sep=";", decimal=",", float_format="%.1f")


def club_csv(path: Path, *, rows: int) -> None:
    """As the demo's club writes it: a Z behind each time, other words above, a row in a thousand garbled."""
    table = reports(rows)
    table["time"] += "Z"
    table.loc[::1000, "time"] = "24-06-09 at noon"
    names = {"time": "utc", "tx call": "call heard", "tx locator": "square heard", "freq MHz": "MHz"}
    names |= {"snr": "SNR dB", "rx call": "heard by", "rx locator": "listener square"}
    table.rename(columns=names).to_csv(path, index=False)


def distinct_csv(path: Path, *, rows: int) -> None:
    """The same columns with as few repeats as there can be: a second, calls and small squares of its own in each row."""
    rng = np.random.default_rng(3)
    letters, digits = np.array(list("ABCDEFGHIJKLMNOPQRSTUVWXYZ")), np.array(list("0123456789"))

    def text(*parts) -> np.ndarray:
        drawn = [part if isinstance(part, str) else rng.choice(part, rows) for part in parts]
        return np.array(list(map("".join, zip(*np.broadcast_arrays(*drawn), strict=True))))

    calls = ["Q", letters, digits, letters, letters, letters, letters]
    squares = [letters[8:10], letters[12:15], digits, digits, letters[:24], letters[:24], digits, digits]
    seconds = np.sort(rng.choice(180 * 86400, rows, replace=False)).astype("timedelta64[s]")
    table = {"time": np.datetime_as_string(np.datetime64("2024-04-01T00:00:00") + seconds)}
    table |= {
        "freq MHz": np.round(rng.choice([50.0, 144.0], rows) + rng.uniform(0, 0.5, rows), 6),
        "mode": "FT8",
    }
    table |= {
        f"{side} {name}": text(*kind)
        for side in ("tx", "rx")
        for name, kind in (("call", calls), ("locator", squares))
    }
    pd.DataFrame(table | {"snr": np.round(rng.uniform(-24, 12, rows), 1)}).to_csv(path, index=False)


def timed(work, *, runs: int = 1) -> tuple[float, float]:
    """Fewest seconds by the clock and of the processor."""
    taken = []
    for _ in range(runs):
        wall, cpu = time.perf_counter(), time.process_time()
        work()
        taken.append((time.perf_counter() - wall, time.process_time() - cpu))
    walls, cpus = zip(*taken, strict=True)
    return min(walls), min(cpus)


def beside_floor(table: Path, *, what: str, runs: int) -> None:
    """Print the time of a table beside that of reading and writing it."""
    shape = arrow_csv.ParseOptions(delimiter=";" if table.stem == "region" else ",")

    def copied() -> None:
        read = arrow_csv.read_csv(table, parse_options=shape)
        parquet.write_table(read, table.with_suffix(".parquet"))

    bare = timed(copied, runs=2 * runs)
    ours = timed(lambda: gather_files([table]), runs=runs)
    print(f"{what}: bare read and write {bare[0]:.2f} s ({bare[1]:.2f} s processor)")
    print(
        f"  gathered {ours[0]:.2f} s ({ours[1]:.2f} s processor), ratio {ours[0] / bare[0]:.1f} by the clock, "
        f"{ours[1] / bare[1]:.1f} by the processor"
    )


def speed(folder: Path, *, rows: int, records: int) -> None:
    """Print times, ratios and memory."""
    rare, log = folder / "distinct.csv", folder / "log.adi"
    for name, write, bar in (("spots", spots_csv, 2), ("region", region_csv, 3), ("club", club_csv, 3)):
        write(folder / f"{name}.csv", rows=rows)
        beside_floor(folder / f"{name}.csv", what=f"CSV of {rows} rows, {name} (bar {bar})", runs=3)
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"  peak memory {peak:.0f} MB (bar 1024)")
    log.write_text(season_log(seed=2, n=records), encoding="utf-8")
    text = log.read_text(encoding="utf-8")
    parse = timed(lambda: adif.parse(text), runs=3)
    whole = timed(lambda: gather_files([log]), runs=3)
    print(
        f"ADIF of {records} records: parsed {parse[1] / records * 1e6:.1f}, gathered "
        f"{whole[1] / records * 1e6:.1f} us of processor a record (bar 12)"
    )
    distinct_csv(rare, rows=rows // 10)
    beside_floor(rare, what=f"CSV of {rows // 10} rows with hardly a repeated cell (bar 6)", runs=1)


def kill(folder: Path, *, kills: int) -> None:
    """Kill a gathering at random moments; count what the store holds afterwards."""
    store, small, large = folder / "store", folder / "small.adi", folder / "large.adi"
    small.write_text(contact())
    large.write_text(season_log(seed=5, n=400), encoding="utf-8")
    states = {
        "before": len(add_to_store([small], store=store).spots),
        "after": len(gather_files([small, large]).spots),
    }
    rng, seen = random.Random(9), {"before": 0, "after": 0, "between": 0}
    manifest = (store / "manifest.json").read_bytes()
    for _ in range(kills):
        (store / "manifest.json").write_bytes(manifest)
        child = os.fork()
        if child == 0:
            add_to_store([large], store=store)
            os._exit(0)
        time.sleep(rng.uniform(0, 0.6))
        os.kill(child, signal.SIGKILL)
        os.waitpid(child, 0)
        held = len(read_store(store).spots)
        seen[next((name for name, n in states.items() if n == held), "between")] += 1
    print(
        f"{kills} kills: store as before {seen['before']}, as after {seen['after']}, between {seen['between']}"
    )


if __name__ == "__main__":
    options = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    options.add_argument("--rows", type=int, default=1_000_000)
    options.add_argument("--records", type=int, default=100_000)
    options.add_argument("--spoiled", type=int, default=0)
    options.add_argument("--kills", type=int, default=0)
    given = options.parse_args()
    with tempfile.TemporaryDirectory() as name:
        if given.spoiled:
            print(dict(spoiled.main(number=given.spoiled, seed=1)))
        elif given.kills:
            kill(Path(name), kills=given.kills)
        else:
            speed(Path(name), rows=given.rows, records=given.records)
