"""Gatherings killed at random moments: the store is as before or as after, and nobody's file is touched.

python -m benchmarks.kills --kills 500

Each time a process gathers a log into a store that holds another one, beside files of the user's, and
is killed at a random moment. Then the store is read; after ten kills the gathering is repeated and
must end well.
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

LONGEST_S = 1.0  # a gathering takes less on an idle machine


def main(*, number: int, seed: int) -> Counter:
    """Kill so many gatherings; count what the store held afterwards."""
    rng, done = random.Random(seed), Counter()
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place)
        (folder / "small.adi").write_text("<EOH>" + contact())
        while done["kills"] < number:
            store = folder / f"store{done['stores']}"
            done["stores"] += 1
            add_to_store([folder / "small.adi"], store=store)
            mine = store / "spots" / "mine.adi"
            mine.write_text("mine")
            log = folder / "log.adi"
            log.write_text(season_log(seed=rng.randrange(1000), n=60))
            done += one_store(log, store, rng)
            done["files lost"] += mine.read_text() != "mine"
    return done


def one_store(log: Path, store: Path, rng: random.Random) -> Counter:
    """Ten kills, then a repeat that is left to end."""
    done = Counter()
    for _ in range(10):
        child = os.fork()
        if child == 0:
            add_to_store([log], store=store)
            os._exit(0)
        time.sleep(rng.uniform(0, LONGEST_S))
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
