"""How fast spots are tagged, against reading and writing the tagged table in the same run, and how well.

    python -m benchmarks.tag [ROWS ...]     speed
    python -m benchmarks.tag mechanism      calls on simulated seasons, measured beside each bar

Spots come from 2 500 stations in Europe over 180 days. A table larger than a batch is streamed: its
pairs of locators are collected and worked out first, then one row group at a time is read, tagged and
written. The floor does the same without tagging.
"""

import resource
import sys
import tempfile
import time
from pathlib import Path

import numpy as np
import pandas as pd
import pyarrow as pa
import pyarrow.parquet as pq

from analysis.gather import locators, spots
from analysis.tag import paths, tags
from tests.tag import scores
from tests.tag.mixed_season import mixed_season
from tests.tag.rare_season import rare_season

BATCH = 250_000
STATIONS = 2500


def make_stations():
    """Call signs and locators of the stations, the same for every batch."""
    rng = np.random.default_rng(0)
    lon, lat = rng.uniform(-10, 25, STATIONS), rng.uniform(36, 60, STATIONS)
    length = rng.choice([4, 6, 6, 6], STATIONS)
    names = [locators.encode(lat=y, lon=x, length=int(n)) for x, y, n in zip(lon, lat, length, strict=True)]
    calls = [f"Q{i % 10}{chr(65 + i // 10 % 26)}{i:04d}" for i in range(STATIONS)]
    return np.array(calls), np.array(names)


def make_spots(rows, *, seed):
    """Invented spots, in order of time."""
    rng = np.random.default_rng(seed)
    calls, names = make_stations()
    # A few stations make most of the reports, and each hears sixty-four others.
    rx = np.minimum((rng.pareto(1.2, rows) * 60).astype(int), STATIONS - 1)
    tx = (rx * 37 + rng.integers(1, 65, rows) * 23) % STATIONS
    start = pd.Timestamp("2024-04-01", tz="UTC").as_unit("us")
    frame = pd.DataFrame(
        {
            "time": start + pd.to_timedelta(np.sort(rng.integers(0, 180 * 86400, rows)), unit="s"),
            "band": pd.Categorical.from_codes(rng.integers(0, 2, rows), ["6m", "2m"]),
            "mode": pd.Categorical.from_codes(rng.integers(0, 3, rows), ["FT8", "CW", "SSB"]),
            "tx_call": calls[tx],
            "rx_call": calls[rx],
            "tx_locator": names[tx],
            "rx_locator": names[rx],
            "snr_db": rng.normal(-8, 8, rows).astype("float32"),
            "kind": "heard",
        }
    )
    return spots.as_spots(frame)


def write_input(path, rows):
    """A spot table in row groups of one batch each."""
    writer = None
    for number in range(0, rows, BATCH):
        batch = make_spots(min(BATCH, rows - number), seed=number)
        table = pa.Table.from_pandas(batch, preserve_index=False)
        writer = writer or pq.ParquetWriter(path, table.schema, compression="zstd")
        writer.write_table(table.cast(writer.schema))
    writer.close()


def batches(path):
    """Row groups as spot tables."""
    file = pq.ParquetFile(path)
    for group in range(file.num_row_groups):
        yield file.read_row_group(group).to_pandas()


def all_pairs(path):
    """Every pair of locators of a file once."""
    found = [paths.pair_codes(batch)[1] for batch in batches(path)]
    return pd.concat(found).drop_duplicates(ignore_index=True)


def stream(source, target, work):
    """Read, work on and write every row group."""
    writer = None
    for batch in batches(source):
        table = pa.Table.from_pandas(work(batch), preserve_index=False)
        writer = writer or pq.ParquetWriter(target, table.schema, compression="zstd")
        writer.write_table(table)
    writer.close()


def timed(action):
    """Wall and processor seconds of an action."""
    wall, cpu = time.perf_counter(), time.process_time()
    action()
    return time.perf_counter() - wall, time.process_time() - cpu


def measure(rows, folder):
    """Print floor, tagging and their ratio for one size."""
    source, tagged, again = (folder / f"{name}.parquet" for name in ("spots", "tagged", "again"))
    write_input(source, rows)

    def whole():
        lines = tags.path_tags(all_pairs(source))
        stream(source, tagged, lambda batch: tags.tag_spots(batch, lines=lines))

    tag_wall, tag_cpu = timed(whole)
    floor_wall, floor_cpu = timed(lambda: stream(tagged, again, lambda batch: batch))
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1e6
    print(
        f"{rows:>10,} rows: read, tag, write {tag_wall:.1f} s ({tag_cpu:.1f} s of processor), read and write the"
        f" tagged table {floor_wall:.1f} s ({floor_cpu:.1f}); tagging alone"
        f" {(tag_wall - floor_wall) / floor_wall:.2f}× (processor {(tag_cpu - floor_cpu) / floor_cpu:.2f}×);"
        f" peak {peak:.2f} GB"
    )


def mechanism_table(most=3):
    """Scores of the calls on at most so many simulated seasons of the tests; bars after section 12."""
    rows = {}
    for make, seeds in ((mixed_season, (1, 2, 3)[:most]), (rare_season, (1, 2)[:most])):
        for degraded in (False, True):
            judged = scores.judged(make, seeds=seeds, degraded=degraded)
            name = f"{make.__name__}, {'degraded' if degraded else 'dense'}"
            rows[name] = scores.summary(judged) | scores.recalls(judged).to_dict()
    rows["bar, dense (degraded)"] = {
        "balanced accuracy": ">= .95 (.80)",
        "calibration error": "<= .06",
        "calls right": ">= .90",
    }
    return pd.DataFrame(rows)


if __name__ == "__main__":
    if sys.argv[1:] == ["mechanism"]:
        print(mechanism_table().to_string(float_format="{:.3f}".format, na_rep=""))
        sys.exit()
    with tempfile.TemporaryDirectory() as name:
        for size in [int(text) for text in sys.argv[1:]] or [1_000_000]:
            measure(size, Path(name))
