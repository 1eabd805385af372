"""Spoiled files by the hundred thousand: no traceback, no long wait, and no row that no account holds.

python -m benchmarks.spoiled --files 200000

Sound files of every kind (logs in both ADIF forms and of contests, tables of many shapes, JSON,
Parquet, archives) after random accidents, among them digits, letters and separators of other
scripts. All but one of 20 files (`--one-in`) are ADIF logs, whose records are checked a thousand
logs at a time; the others go one by one through the door that a user's file takes, and take a
hundred times as long. What is read is then merged, and the account of every file must add up.
"""

import argparse
import random
import resource
import tempfile
import time
from collections import Counter
from pathlib import Path

from analysis.gather import files
from analysis.gather.problems import InputError
from analysis.gather.reading import sources
from tests.gather.mutate import originals, spoiled

BATCH = 1000
LONGEST_S = 10.0  # of processor


def one(name: str, data: bytes, folder: Path) -> tuple[str, list]:
    """One file by every step but the checking of logs: `read`, `refused` or what went wrong, and what was read."""
    path = folder / name
    path.write_bytes(data)
    start, found = time.process_time(), []
    try:
        for file in sources.opened(path, source=name):
            told = {"beside": file.beside, "source": file.source, "home": "IN93", "station": "Q1OWN"}
            found.append(files.parsed(file.data, **told))
    except InputError as problem:
        right = name in str(problem) and "\n" not in str(problem)
        return ("refused" if right else f"refusal {problem}"), []
    except Exception as fault:  # noqa: BLE001 (the point of the exercise)
        return kept_for_us(name, data, f"traceback {type(fault).__name__}: {fault}"), []
    finally:
        for written in folder.iterdir():
            written.unlink()
    if time.process_time() - start > LONGEST_S:
        return kept_for_us(name, data, f"{time.process_time() - start:.0f} s"), []
    return "read", found


def kept_for_us(name: str, data: bytes, what: str) -> str:
    """Leave the file where it can be looked at; what went wrong with it."""
    place = Path(tempfile.gettempdir()) / f"spoiled-{name}"
    place.write_bytes(data)
    return f"{what} in {place}"


def one_batch(spoils: dict[str, bytes], folder: Path) -> Counter:
    """Read and merge a batch of files; count what became of them."""
    done, logs, reads = Counter(), [], []
    for name, data in spoils.items():
        result, found = one(name, data, folder)
        done[result] += 1
        logs += [part for part in found if isinstance(part, files.Log)]
        reads += [part for part in found if isinstance(part, files.Read)]
    reads += [files.checked_logs(logs, home="IN93", station="Q1OWN")] if logs else []
    account = files.merged(reads).account  # raises where a row is lost
    rows = account[["rows_in", "kept", "set_aside", "duplicates"]].sum()
    return done + Counter(
        {f"rows {name}".replace("rows rows_in", "rows"): int(n) for name, n in rows.items()}
    )


def main(*, number: int, seed: int, one_in: int = 20) -> Counter:
    """Spoil and read so many files, of which one in `one_in` is no ADIF log."""
    rng, sound, done, start = random.Random(seed), originals(), Counter(), time.time()
    logs = [data for data in sound if b"<" in data[:60] or b"<EOH>" in data[:60]]
    others = [data for data in sound if data not in logs]
    with tempfile.TemporaryDirectory() as folder:
        for first in range(0, number, BATCH):
            names = [f"{i}.txt" for i in range(first, min(first + BATCH, number))]
            kinds = [logs if i % one_in else others for i in range(len(names))]
            spoils = {name: spoiled(rng.choice(kind), rng) for name, kind in zip(names, kinds, strict=True)}
            done += one_batch(spoils, Path(folder))
            print(f"{first + len(names)} files, {time.time() - start:.0f} s: {dict(done)}", flush=True)
    return done


if __name__ == "__main__":
    options = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    options.add_argument("--files", type=int, default=200_000)
    options.add_argument("--seed", type=int, default=1)
    options.add_argument("--one-in", type=int, default=20)
    given = options.parse_args()
    done = main(number=given.files, seed=given.seed, one_in=given.one_in)
    print(f"{given.files} spoiled files: {dict(done)}")
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / (1 << 20)
    print(f"peak memory {peak:.2f} GB; no file took more than {LONGEST_S:g} s of processor, or it is listed")
