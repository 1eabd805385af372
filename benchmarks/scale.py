"""How far one code reaches: the same spots tagged by several ways, and reviewed as a whole, at growing sizes.

    python -m benchmarks.scale [ROWS ...]              tagging; 100 000, 1 000 000 and 10 000 000 rows by default
    python -m benchmarks.scale --review [ROWS ...]     the whole review, from spots to tables
    python -m benchmarks.scale --keep FILE ...         add the table to a file, with date and processor

Every line runs in a process of its own, so its peak memory is its own. `ratio` is to the floor: reading and
writing the finished table. The ways of others do the geometry alone, as far as their libraries can: ours beside
them is that of the same columns. What is not installed is left out. The naive script works a sample; the
table says so.
"""

import argparse
import importlib.util
import json
import os
import platform
import resource
import subprocess
import sys
import tempfile
import time
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime
from pathlib import Path

import pandas as pd
import pyarrow as pa
import pyarrow.parquet as pq
from astral import Observer
from astral import sun as astral

from analysis.gather import locators
from analysis.tag import paths, tags
from benchmarks.tag import all_pairs, batches, write_input

SIZES = (100_000, 1_000_000, 10_000_000)
SAMPLE = 5_000  # rows of the naive script
GEOMETRY = ["distance_km", "bearing_deg", "mid_lon", "mid_lat"]
RADIUS_KM = 6371.0


def stream(source, target, work):
    """Row groups worked on by two threads, written by a third, in order."""
    with ThreadPoolExecutor(2) as pool, ThreadPoolExecutor(1) as pen:
        writer, waiting, written = None, [], None

        def put(table):
            nonlocal writer
            writer = writer or pq.ParquetWriter(target, table.schema, compression="zstd")
            writer.write_table(table)

        def arrow(batch):
            return pa.Table.from_pandas(work(batch), preserve_index=False)

        for batch in batches(source):
            waiting.append(pool.submit(arrow, batch))
            if len(waiting) > 2:
                done = waiting.pop(0).result()
                if written:
                    written.result()
                written = pen.submit(put, done)
        for one in waiting:
            pen.submit(put, one.result()).result()
        pen.submit(writer.close).result()


def tagged(folder, *, kept):
    """Our own tagging; `kept` reads the pairs worked out by the cold run."""
    store = folder / "pairs.parquet"
    lines = pd.read_parquet(store) if kept else tags.path_tags(all_pairs(folder / "spots.parquet"))
    if not kept:
        lines.to_parquet(store)
    stream(
        folder / "spots.parquet", folder / "tagged.parquet", lambda batch: tags.tag_spots(batch, lines=lines)
    )


def floor(folder):
    """Reading and writing the tagged table."""
    stream(folder / "tagged.parquet", folder / "again.parquet", lambda batch: batch)


def our_geometry(folder):
    """Distance, bearing and midpoint of every row, each pair once."""

    def work(batch):
        pair, pairs = paths.pair_codes(batch)
        return paths.pair_table(pairs)[GEOMETRY].iloc[pair].reset_index(drop=True)

    stream(folder / "spots.parquet", folder / "other.parquet", work)


def vectorised(folder):
    """As a careful pandas script would: geodesics row by row in one call, no pair twice in mind."""

    def work(batch):
        rx, tx = (locators.centre(batch[f"{end}_locator"]) for end in ("rx", "tx"))
        lines = paths.geodesics(lon1=rx["lon"], lat1=rx["lat"], lon2=tx["lon"], lat2=tx["lat"])
        return lines[GEOMETRY]

    stream(folder / "spots.parquet", folder / "other.parquet", work)


def naive(folder):
    """One row after the other, geometry and Sun, as a first script does; a sample only."""
    batch = next(batches(folder / "spots.parquet")).head(SAMPLE)
    found = []
    for row in batch.itertuples():
        (lon1, lat1), (lon2, lat2) = _square(row.rx_locator), _square(row.tx_locator)
        out, _, metres = paths.WGS84.inv(lon1, lat1, lon2, lat2)
        lon, lat, _ = paths.WGS84.fwd(lon1, lat1, out, metres / 2)
        there = Observer(latitude=lat, longitude=lon)
        events = astral.sunrise(there, row.time.date()), astral.sunset(there, row.time.date())
        found.append((metres / 1000, out % 360, lon, lat, *events, astral.elevation(there, row.time)))
    pd.DataFrame(found).to_csv(folder / "other.csv")
    return len(batch)


def _square(name):
    """Centre of the first four characters [degrees east, north]."""
    lon = (ord(name[0]) - 65) * 20 + int(name[2]) * 2 - 179
    return lon, (ord(name[1]) - 65) * 10 + int(name[3]) - 89.5


def _corner(column, at, first):
    return f"(ascii(substr({column}, {at}, 1)) - {ord(first)})"


def _centre(column):
    """SQL for the centre of four characters of a locator [degrees], enough for a race."""
    lon = f"({_corner(column, 1, 'A')} * 20.0 + {_corner(column, 3, '0')} * 2.0 - 179.0)"
    return lon, f"({_corner(column, 2, 'A')} * 10.0 + {_corner(column, 4, '0')} - 89.5)"


def duckdb_geometry(folder):
    """Great-circle distance and bearing on a sphere, from the centres of squares."""
    import duckdb

    (lon1, lat1), (lon2, lat2) = _centre("rx_locator"), _centre("tx_locator")
    points = f"select radians({lon1}) a, radians({lat1}) b, radians({lon2}) c, radians({lat2}) d from '{folder / 'spots.parquet'}'"
    km = f"{2 * RADIUS_KM} * asin(sqrt(pow(sin((d - b) / 2), 2) + cos(b) * cos(d) * pow(sin((c - a) / 2), 2))) km"
    bearing = "degrees(atan2(sin(c - a) * cos(d), cos(b) * sin(d) - sin(b) * cos(d) * cos(c - a))) bearing"
    duckdb.sql(f"copy (select {km}, {bearing} from ({points})) to '{folder / 'other.parquet'}'")


def polars_geometry(folder):
    """The same in Polars."""
    import polars

    def letter(name, at, first):
        code = polars.col(name).str.slice(at, 1).cast(polars.Binary).bin.reinterpret(dtype=polars.UInt8)
        return code.cast(polars.Float64) - ord(first)

    def centre(name):
        lon = letter(name, 0, "A") * 20 + letter(name, 2, "0") * 2 - 179
        return lon.radians(), (letter(name, 1, "A") * 10 + letter(name, 3, "0") - 89.5).radians()

    (a, b), (c, d) = centre("rx_locator"), centre("tx_locator")
    half = ((d - b) / 2).sin() ** 2 + b.cos() * d.cos() * ((c - a) / 2).sin() ** 2
    bearing = polars.arctan2((c - a).sin() * d.cos(), b.cos() * d.sin() - b.sin() * d.cos() * (c - a).cos())
    table = polars.scan_parquet(folder / "spots.parquet")
    table = table.select(
        (half.sqrt().arcsin() * 2 * RADIUS_KM).alias("km"), bearing.degrees().alias("bearing")
    )
    table.sink_parquet(folder / "other.parquet")


def whole_review(folder):
    """From spots to the finished tables; what is kept of an earlier run is not used."""
    from analysis import keeping, review
    from analysis.gather import files

    keeping.WORTH_S = float("inf")
    spots = pd.read_parquet(folder / "spots.parquet")
    empty = files.as_read({"spots": len(spots)}, set_aside=[files.problems.no_rows()])
    account = pd.DataFrame(
        {"source": ["spots"], "rows_in": len(spots), "kept": len(spots), "set_aside": 0, "duplicates": 0}
    )
    spots["source"] = pd.Categorical(["spots"] * len(spots))
    gathered = files.Gathered(
        spots,
        empty.beacons.drop(columns="source"),
        empty.listening.drop(columns="source"),
        empty.set_aside,
        account,
        empty.guesses,
        empty.notes,
    )
    review.analyse(gathered, owner=review.Owner(home="IN93"))


WAYS = {
    "ours, cold": lambda folder: tagged(folder, kept=False),
    "ours, pairs kept": lambda folder: tagged(folder, kept=True),
    "floor": floor,
    "ours, geometry": our_geometry,
    "pandas, geometry, pairs not cached": vectorised,
    "polars, geometry on a sphere": polars_geometry,
    "duckdb, geometry on a sphere": duckdb_geometry,
    "naive, geometry and Sun": naive,
    "whole review": whole_review,
}


def one(way, folder):
    """Run one way in this process and print what it took."""
    wall, cpu = time.perf_counter(), time.process_time()
    rows = WAYS[way](folder)
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1e6
    print(
        json.dumps(
            {"wall": time.perf_counter() - wall, "cpu": time.process_time() - cpu, "peak": peak, "of": rows}
        )
    )


def measured(rows, ways):
    """One line for each way at one size."""
    lines = []
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        write_input(folder / "spots.parquet", rows)
        for way in ways:
            library = way.split(",")[0]
            if library in ("polars", "duckdb") and not importlib.util.find_spec(library):
                lines.append({"rows": rows, "way": way, "note": f"{library} is not installed"})
                continue
            run = subprocess.run(
                [sys.executable, "-m", "benchmarks.scale", "--one", way, "--folder", name],
                capture_output=True,
                text=True,
                check=False,
            )
            if run.returncode:
                lines.append(
                    {
                        "rows": rows,
                        "way": way,
                        "note": f"failed: {(run.stderr.strip().splitlines() or ['killed'])[-1][:60]}",
                    }
                )
                continue
            took = json.loads(run.stdout.splitlines()[-1])
            scale = rows / took["of"] if took["of"] else 1.0
            note = f"from a sample of {took['of']:,}" if took["of"] else ""
            lines.append(
                {
                    "rows": rows,
                    "way": way,
                    "wall_s": took["wall"] * scale,
                    "cpu_s": took["cpu"] * scale,
                    "peak_gb": took["peak"],
                    "note": note,
                }
            )
            print(lines[-1], file=sys.stderr, flush=True)
    return lines


def table_of(lines):
    """With the ratio to the floor of the same size, and how the time grew from the size before for each row."""
    table = pd.DataFrame(lines).reindex(columns=["rows", "way", "wall_s", "cpu_s", "peak_gb", "note"])
    base = table[table["way"] == "floor"].set_index("rows")["wall_s"]
    table.insert(5, "ratio", table["wall_s"] / table["rows"].map(base))
    own = table[table["way"] == "floor"].set_index("rows")["cpu_s"]
    table.insert(6, "cpu_ratio", table["cpu_s"] / table["rows"].map(own))
    each = table["wall_s"] / table["rows"]
    table.insert(7, "growth", each / each.groupby(table["way"]).shift())
    return table


def processor():
    """The name by which the machine calls its processor."""
    info = Path("/proc/cpuinfo")
    named = (
        [
            line.split(":")[1].strip()
            for line in info.read_text().splitlines()
            if line.startswith("model name")
        ]
        if info.exists()
        else []
    )
    return named[0] if named else platform.processor() or platform.machine()


def main():
    asked = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    asked.add_argument("rows", nargs="*", type=int)
    asked.add_argument("--review", action="store_true")
    asked.add_argument("--keep", type=Path)
    asked.add_argument("--one", help=argparse.SUPPRESS)
    asked.add_argument("--folder", type=Path, help=argparse.SUPPRESS)
    given = asked.parse_args()
    if given.one:
        return one(given.one, given.folder)
    ways = ["whole review"] if given.review else [way for way in WAYS if way != "whole review"]
    lines = [line for rows in given.rows or SIZES for line in measured(rows, ways)]
    told = table_of(lines).to_string(index=False, float_format="{:.3g}".format, na_rep="")
    head = f"{datetime.now(UTC):%Y-%m-%d}, {processor()}, {os.cpu_count()} processors"
    print(f"{head}\n{told}")
    if given.keep:
        with given.keep.open("a", encoding="utf-8") as file:
            file.write(f"\n## {head}\n\n```\n{told}\n```\n")


if __name__ == "__main__":
    main()
