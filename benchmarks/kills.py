"""Gatherings killed at random moments: the store is as before or as after, and nobody's file is touched.

python -m benchmarks.kills --kills 500

Each time a process gathers a log into a store that holds another one, beside files of the user's, and
is killed at a random moment. Then the store is read; after ten kills, or one that came too late, the
gathering is repeated and must end well, and the next store is begun.
"""

import argparse
import os
import random
import signal
import tempfile
import time
from collections import Counter
from pathlib import Path

from analysis.gather.store import add_to_store, read_store
from tests.gather.logs import contact, season_log


def main(*, number: int, seed: int) -> Counter:
    """Kill so many gatherings; count what the store held afterwards."""
    rng, done = random.Random(seed), Counter()
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place)
        (folder / "small.adi").write_text("<EOH>" + contact())
        log = folder / "log.adi"
        log.write_text(season_log(seed=0, n=60))
        seconds = timed(log, folder)
        while done["kills"] < number:
            store = folder / f"store{done['stores']}"
            done["stores"] += 1
            add_to_store([folder / "small.adi"], store=store)
            mine = store / "spots" / "mine.adi"
            mine.write_text("mine")
            log.write_text(season_log(seed=rng.randrange(1000), n=60))
            done += one_store(log, store, rng, seconds=seconds)
            done["files lost"] += mine.read_text() != "mine"
    return done


def timed(log: Path, folder: Path) -> float:
    """How long a gathering into a store takes just now, in a process of its own."""
    add_to_store([folder / "small.adi"], store=folder / "timed")
    start, child = time.perf_counter(), os.fork()
    if child == 0:
        add_to_store([log], store=folder / "timed")
        os._exit(0)
    os.waitpid(child, 0)
    return time.perf_counter() - start


def one_store(log: Path, store: Path, rng: random.Random, *, seconds: float) -> Counter:
    """Kills within the time that a gathering takes, then a repeat that is left to end."""
    done = Counter()
    while done["kills"] < 10 and not done["as after"]:
        child = os.fork()
        if child == 0:
            add_to_store([log], store=store)
            os._exit(0)
        time.sleep(rng.uniform(0, 1.1 * seconds))
        os.kill(child, signal.SIGKILL)
        os.waitpid(child, 0)
        done["kills"] += 1
        n = len(read_store(store).spots)  # raises where a part or an account is wrong
        done[{1: "as before", 61: "as after"}.get(n, f"{n} rows")] += 1
    done["repeats that end well"] += len(add_to_store([log], store=store).spots) == 61
    done["left half-written"] += len(list(store.rglob("*.new")))
    return done


if __name__ == "__main__":
    options = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    options.add_argument("--kills", type=int, default=500)
    options.add_argument("--seed", type=int, default=1)
    given = options.parse_args()
    print(f"{dict(main(number=given.kills, seed=given.seed))}")
