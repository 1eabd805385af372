"""The bars of the whole, measured: `python -m benchmarks [--quick]`.

A bar is met when each of its parts is; parts beyond theirs are shown alone. `benchmarks.fit`, `.find`,
`.windows`, `.tag` and `.signs` measure them on seeded seasons, `.nature` on a published ionosonde series where it is
present, so all but the seconds of bar 12 come out the same each time.
"""

from __future__ import annotations

import argparse
import textwrap
import time
from collections.abc import Iterator

import pandas as pd

from benchmarks import find, fit, nature, signs, tag, windows

BARS = {
    1: "Companion fit equals an independent one; gradient is right",
    2: "Curves with monitors against what happened",
    3: "Shape without monitors, and the spots' own shape",
    4: "Coverage of 90 % intervals of curves",
    5: "Windows: bias, error, coverage, skill",
    6: "Near-best windows are near the best",
    7: "Index shows no trend where only activity grew",
    8: "Rule of thumb: size, power, refusal",
    9: "Openings found: recall, precision, hours",
    10: "Mechanism: accuracy, calibration, calls right",
    11: "Refusals in words",
    12: "Seconds for one series of eight seasons",
    13: "Years of a real ionosphere: above, below, the next one, curves",
    14: "Windows on a real ionosphere, sixth year from five",
    15: "Published maps beside a real station",
    16: "A first season leans on the usual course",
    17: "First signs: leads, rungs, beacons, what is worth listening to",
}
OF_FIT = {
    1: fit.exactness,
    2: fit.monitored,
    3: fit.unmonitored,
    4: fit.coverage,
    7: fit.trend,
    8: fit.rule,
    11: fit.refusals,
    12: fit.speed,
}
# Means over so few data sets as the others would miss these bars by luck alone.
LEAST = {4: 0.4, 5: 0.5, 13: 0.5}


def main() -> None:
    """Print the table, the parts of each bar below its name."""
    parser = argparse.ArgumentParser(prog="python -m benchmarks", description=__doc__.splitlines()[0])
    parser.add_argument(
        "--quick", action="store_true", help="an eighth of the data sets, half for bars 4 to 6 and from 13 on"
    )
    began = time.perf_counter()
    table = bars(1 / 8 if parser.parse_args().quick else 1.0)
    for bar in table.itertuples():
        print(f"{bar.number:2}  {bar.verdict:7} {bar.parts:>5}  {bar.what}")
        print(textwrap.fill(bar.measured, 110, initial_indent=" " * 20, subsequent_indent=" " * 20))
    print(f"{(time.perf_counter() - began) / 60:.1f} minutes")


def bars(share: float) -> pd.DataFrame:
    """One row a bar: number, what, parts met of all, measured with each part's bar, verdict.

    Parameters
    ----------
    share : float
        Share of the data sets, 1 for all of them.
    """
    parts = {number: list(part(max(share, LEAST.get(number, 0)))) for number, part in OF_FIT.items()}
    parts[5], parts[6] = of_windows(max(share, LEAST[5]))
    parts |= nature.bars(max(share, LEAST[13]))
    parts[9], parts[10] = list(of_find(share)), list(of_tag(share))
    parts[17] = list(signs.parts(round(100 * share)))
    return pd.DataFrame([row(number, parts[number]) for number in BARS])


def row(number: int, parts: list[tuple]) -> dict[str, object]:
    """A bar is met when each of its parts is; where some miss, only those are shown."""
    judged = [part for part in parts if part[2] != "(no bar)"]
    missed = [part for part in judged if not part[3]]
    shown = missed or judged or parts
    return {
        "number": number,
        "what": BARS[number],
        "parts": f"{len(judged) - len(missed)}/{len(judged)}",
        "measured": "; ".join(f"{what} {value} ({bar})" for what, value, bar, _ in shown),
        "verdict": "MISSED" if missed else "met",
    }


def of_windows(share: float) -> tuple[list[tuple], list[tuple]]:
    """Bars 5 and 6: windows against many simulated years."""
    fifth, sixth = [], []
    for kind in windows.KINDS:
        sets = [windows.found_days(kind, seed=seed) for seed in range(round(16 * share))]
        found = windows.measured(sets, windows.true_chance(kind, years=round(1000 * share)))
        fifth += [
            fit.at_most(f"{kind}: bias", abs(found["bias"]), 0.04),
            fit.at_most(f"{kind}: rmse", found["rmse"], 0.10),
            fit.within(f"{kind}: coverage", found["coverage"], 0.83, 0.97),
            fit.at_least(f"{kind}: skill over the calendar", found["skill_calendar"], 0.03),
        ]
        if kind in windows.SKILL:
            fifth.append(fit.at_least(f"{kind}: skill", found["skill_flat"], windows.SKILL[kind]))
        sixth.append(fit.at_least(f"{kind}: precision", found["precision"], 0.80))
    return fifth, sixth


def of_find(share: float) -> Iterator[tuple]:
    """Bar 9: openings in rich data."""
    rich = find.openings_table(max(round(10 * share), 2)).loc["rich, 20/h"]
    yield fit.at_least("recall", rich["recall"], 0.95)
    yield fit.at_least("precision", rich["precision"], 0.90)
    yield fit.within("hours", rich["hours"], 0.8, 1.1)


def of_tag(share: float) -> Iterator[tuple]:
    """Bar 10: mechanisms of the dense and the degraded season."""
    table = tag.mechanism_table(1 if share < 1 else 3)
    for season, accuracy in (("dense", 0.95), ("degraded", 0.80)):
        found = table[f"mixed_season, {season}"]
        yield fit.at_least(f"{season}: balanced accuracy", found["balanced accuracy"], accuracy)
        yield fit.at_most(f"{season}: calibration error", found["calibration error"], 0.06)
        yield fit.at_least(f"{season}: calls right", found["calls right"], 0.90)


if __name__ == "__main__":
    main()
