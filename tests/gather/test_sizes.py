"""Files made to exhaust a machine: refused in one line, in little time and memory, at limits that are stated."""

import gzip
import json
import os
import subprocess
import sys
import zipfile

import pandas as pd
import pytest

pytestmark = pytest.mark.skipif(not hasattr(os, "fork"), reason="memory is limited as POSIX systems do it")
LIMITED = """
import pathlib, resource, sys, time
resource.setrlimit(resource.RLIMIT_CPU, (20, 20))
from analysis.gather.files import gather_files
from analysis.gather.problems import InputError
start = time.process_time()
try:
    print("rows", gather_files([sys.argv[1]]).account["rows_in"].sum())
except InputError as problem:
    print(problem)
print(time.process_time() - start)
status = pathlib.Path("/proc/self/status")
if status.exists():  # ru_maxrss begins with that of the large process that started us
    peak = next(line for line in status.read_text().splitlines() if line.startswith("VmHWM")).split()[1]
else:
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
print(int(peak) / (1 << 20))
"""
MOST_S, MOST_GB = 10.0, 1.0


def told(path):
    """What is said of a file by a process of its own, which may take ten seconds and 1 GB."""
    run = subprocess.run(
        [sys.executable, "-c", LIMITED, str(path)], capture_output=True, text=True, timeout=120, check=False
    )
    assert run.returncode == 0, run.stderr[-300:]
    *said, seconds, gigabytes = run.stdout.splitlines()
    assert float(seconds) < MOST_S
    assert float(gigabytes) < MOST_GB
    assert len(said) == 1
    return said[0]


def test_lengths_beyond_the_file(tmp_path):
    """Tens of thousands of fields that claim to be longer than the file."""
    path = tmp_path / "log.adi"
    for end in ("<EOR>\n", "<X>\n"):
        path.write_text("<EOH>\n" + f"<CALL:999999999>Q2AB<BAND:2>6m{end}" * 60_000)
        assert told(path) in (
            "rows 60000",
            f"{path.name}: no whole record was found, the log is cut short; export it again",
        )


@pytest.mark.parametrize("kind", ["csv", "json", "parquet"])
def test_columns_by_the_thousand(tmp_path, kind):
    """More columns than any table of spots has."""
    path = tmp_path / f"spots.{kind}"
    if kind == "csv":
        path.write_text("\n".join(",".join(f"c{i}" for i in range(10_000)) for _ in range(50)))
    elif kind == "json":
        with path.open("w") as stream:
            for line in range(3):
                stream.write(json.dumps({f"k{line}x{i}": "1" for i in range(20_000)}) + "\n")
    else:
        pd.DataFrame({f"c{i}": ["1"] for i in range(2000)}).to_parquet(path)
    assert "columns; a table of spots has at most 500" in told(path)


@pytest.mark.parametrize("how", ["gzip", "zip", "plain", "many"])
def test_more_than_a_season_can_be(tmp_path, how):
    """A gigabyte of nothing, packed or not."""
    path, block = tmp_path / f"log.{how}", b"\n" * (1 << 20)
    if how == "gzip":
        with gzip.open(path, "wb", compresslevel=1) as stream:
            for _ in range(1 << 10):
                stream.write(block)
    elif how == "plain":
        with path.open("wb") as stream:
            stream.truncate(1 << 30)
    else:
        with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED, compresslevel=1) as archive:
            for i in range(1 if how == "zip" else 16):
                with archive.open(f"{i}.adi", "w") as stream:
                    for _ in range(1 << (10 if how == "zip" else 6)):
                        stream.write(block)
    assert "more than 500 MB" in told(path)


def test_what_is_no_file(tmp_path):
    """A pipe that nobody fills and a device without an end."""
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)
    for path in (pipe, "/dev/zero"):
        assert told(path) == f"{path}: is no file but a pipe or a device; save what it gives as a file first"


@pytest.mark.parametrize("sign", ["1 ", '"', "<", "{"])
def test_one_endless_line(tmp_path, sign):
    """Two megabytes without a line break: cells as long as the file."""
    path = tmp_path / "file.csv"
    path.write_text("time,call\n" + sign * (2_000_000 // len(sign)))
    assert told(path).startswith(("file.csv: ", "rows 1"))
