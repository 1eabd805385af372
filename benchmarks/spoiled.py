"""Spoiled files by the hundred thousand: no traceback, and no row that no account holds.

python -m benchmarks.spoiled --files 100000

Of 20 files, 17 are ADIF logs (.adi, .adx), given to their readers one by one; the others (contest
logs, tables, JSON) go through `files.read_bytes`. What costs the same for one cell or
for ten thousand is done for many files at once: what distinct cells look like (`kinds.looks_like`)
and the checks of raw rows (`checks.checked`).
"""

import argparse
import random
import tempfile
import time
from collections import Counter
from pathlib import Path
from unittest import mock

import pandas as pd

from analysis.gather import files
from analysis.gather.cells import kinds
from analysis.gather.columns import meaning as columns
from analysis.gather.problems import InputError, no_rows
from analysis.gather.reading import adif, adx, contents
from analysis.gather.reading import delimited as tables
from analysis.gather.rows import checks
from analysis.gather.spots import as_spots
from tests.gather.mutate import originals, spoiled

BATCH = 1000
LOGS = 17  # in 20
looks_like, read_table, checked = kinds.looks_like, tables.read_table, checks.checked


class _Later(Exception):
    """A table has been split into cells; what they look like is worked out for many tables together."""


def one_batch(spoils: dict[str, bytes], folder: Path) -> Counter:
    """Read a batch of files; count what became of them."""
    split, texts = {}, []

    def until_split(cells, *, header):
        texts.append(pd.concat([pd.Series(cells[name].astype("str").unique()) for name in cells]).str.strip())
        raise _Later

    def remember(text):
        split[name] = read_table(text)
        return split[name]

    def recall(_):
        return split[name]

    done = Counter()
    waiting = {}
    raw_rows: list[tuple[str, int, pd.DataFrame]] = []
    with (
        mock.patch.object(columns, "recognise", until_split),
        mock.patch.object(tables, "read_table", remember),
    ):
        for name, data in spoils.items():
            result = read(name, data, folder, raw_rows)
            waiting |= {name: data} if result == "_Later" else {}
            done[result] += result != "_Later"
    masks = looks_of(texts)
    with (
        mock.patch.object(
            kinds, "looks_like", lambda text: masks.loc[text].reset_index(drop=True).to_dict("series")
        ),
        mock.patch.object(tables, "read_table", recall),
    ):
        for name, data in waiting.items():
            done[read(name, data, folder, raw_rows)] += 1
    return done + account(raw_rows)


def looks_of(texts: list[pd.Series]) -> pd.DataFrame:
    """What each distinct cell of many tables looks like."""
    unique = pd.Series(pd.concat([*texts, pd.Series([""])]).unique(), dtype="str")
    return pd.DataFrame(looks_like(unique)).set_axis(unique, axis=0)


def read(name: str, data: bytes, folder: Path, raw_rows: list) -> str:
    """One file, its raw rows left for later: `read`, `refused`, or the name of the fault."""

    def later(raw, *, source, home="", station=""):
        raw_rows.append((source, len(raw), raw.assign(file=source)))
        return as_spots(pd.DataFrame()), no_rows()

    before = len(raw_rows)
    try:
        with mock.patch.object(checks, "checked", later):
            got = files.read_bytes(data, beside=folder / name, source=name, station="Q1OWN")
    except InputError as problem:
        return "refused" if name in str(problem) and "\n" not in str(problem) else f"refusal {problem}"
    except _Later:
        return "_Later"
    except Exception as fault:  # noqa: BLE001 (the point of the exercise)
        (Path(tempfile.gettempdir()) / f"spoiled-{name}").write_bytes(data)
        return f"traceback {type(fault).__name__} in {name}: {fault}"
    finally:
        for template in folder.glob("*.toml"):
            template.unlink()
    told = sum(len(part) for part in (got.beacons, got.listening, got.set_aside))
    told += sum(n for _, n, _ in raw_rows[before:])
    return "read" if got.rows_in == told else f"rows lost in {name}"


def account(raw_rows: list) -> Counter:
    """Check the raw rows of many files together: every one is kept or set aside."""
    whole = pd.concat([raw for _, _, raw in raw_rows], ignore_index=True)
    whole["source_row"] = range(len(whole))
    for column in whole.columns.difference(
        ["file", "source_row", "time", "freq_mhz", "snr_db", "tx_power_dbm"]
    ):
        whole[column] = whole[column].astype("str").fillna("")
    parts = [
        part for _, part in whole.groupby(["time" in raw for _, _, raw in raw_rows for _ in range(len(raw))])
    ]
    kept = aside = 0
    for part in parts:
        good, bad = checked(part.drop(columns=["file"]).dropna(axis="columns", how="all"), source="spoiled")
        kept, aside = kept + len(good), aside + len(bad)
        assert set(good["source_row"]) | set(bad["source_row"]) == set(part["source_row"])
    assert kept + aside == len(whole)
    return Counter({"rows": len(whole), "rows kept": kept, "rows set aside": aside})


def logs(spoils: dict[str, bytes]) -> Counter:
    """Parse spoiled ADIF logs one by one and check their records together."""
    done, records = Counter(), []
    for name, data in spoils.items():
        try:
            text = contents.as_utf8(data, source=name).decode("utf-8")
            found = adx.parse(text, source=name)[0] if adx.looks_like_adx(text) else adif.parse(text)[0]
        except InputError as problem:
            done[
                "refused" if name in str(problem) and "\n" not in str(problem) else f"refusal {problem}"
            ] += 1
            continue
        except Exception as fault:  # noqa: BLE001 (the point of the exercise)
            (Path(tempfile.gettempdir()) / f"spoiled-{name}").write_bytes(data)
            done[f"traceback {type(fault).__name__} in {name}: {fault}"] += 1
            continue
        records += found
        done["read"] += 1
    good, bad = checked(adif.rows(records), source="spoiled")
    if sorted([*good["source_row"], *bad["source_row"]]) != list(range(1, len(records) + 1)):
        done["rows lost"] += 1
    return done + Counter({"rows": len(records), "rows kept": len(good), "rows set aside": len(bad)})


def main(*, number: int, seed: int) -> Counter:
    """Spoil and read so many files."""
    rng, sound, done, start = random.Random(seed), originals(), Counter(), time.time()
    kinds_of = {True: [data for data in sound if b"<" in data[:60] or b"<EOH>" in data[:60]]}
    kinds_of[False] = [data for data in sound if data not in kinds_of[True]]
    with tempfile.TemporaryDirectory() as folder:
        for first in range(0, number, BATCH):
            names = [f"{i}.txt" for i in range(first, min(first + BATCH, number))]
            for is_log, read_all in ((True, logs), (False, lambda spoils: one_batch(spoils, Path(folder)))):
                part = [name for i, name in enumerate(names) if (i % 20 < LOGS) == is_log]
                done += read_all({name: spoiled(rng.choice(kinds_of[is_log]), rng) for name in part})
            if first % (BATCH * 10) == 0:
                print(f"{first + len(names)} files, {time.time() - start:.0f} s: {dict(done)}", flush=True)
    return done


if __name__ == "__main__":
    options = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    options.add_argument("--files", type=int, default=100_000)
    options.add_argument("--seed", type=int, default=1)
    given = options.parse_args()
    print(f"{given.files} spoiled files: {dict(main(number=given.files, seed=given.seed))}")
