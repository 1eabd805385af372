"""Openings with a place, and what is open here: `python -m benchmarks.here [folder of real inputs]`.

Two simulated regions 3 000 km apart with independent openings, on seeds that no limit was chosen by; the same
reports turned, mirrored and shuffled; other reaches than the one in use; opening days of the demo against its
truth; and, where the folder is there, the contest logs of a weekend as two homes see them.
"""

from __future__ import annotations

import sys
from pathlib import Path

import pandas as pd

from analysis.find.days import of_series
from analysis.find.grouping import together
from analysis.find.listening import find_listening
from analysis.find.openings import find_openings, openings_from
from analysis.gather import locators
from analysis.gather.files import gather_files
from analysis.review import open_tables
from analysis.shipped import demo_files
from analysis.tag.tags import tag_spots
from benchmarks import here_truth
from tests.find.simulate_regions import score, score_here, two_regions, two_skies

CASES = {
    "rich, 20/h": {"per_hour": 20},
    "normal, 8/h": {"per_hour": 8},
    "sparse, 2/h": {"per_hour": 2},
    "busy, 4 patches a day": {"per_hour": 8, "per_day": 4.0},
}
HOMES = {  # of the western region: its middle, where only near clouds serve, and three places around it
    "amid": {"lon": -5.0, "lat": 47.0},
    "north": {"lon": -3.0, "lat": 54.0},
    "west": {"lon": -14.0, "lat": 46.0},
    "south": {"lon": -6.0, "lat": 39.5},
}
FIRST_SEED = 70_000
REACHES = (300.0, 450.0, 600.0, 900.0)
TRUTH = {"6m ES all": "es6", "2m ES all": "es2", "2m TR land": "land2", "2m TR sea": "sea2"}
# From the logs themselves (README of the real inputs): when the two logs in EM74 worked beyond 700 km.
WEEKEND = {"EM74": [("2024-06-09 13:12", "2024-06-09 18:35"), ("2024-06-09 22:55", "2024-06-10 00:00")]}
SHUT = ("2024-06-08 18:30", "2024-06-08 22:00")
LEAST_MIN = 30.0


def regions_table(replicates: int, *, reach_km: float | None = None) -> pd.DataFrame:
    """`simulate_regions.score` by density of reports, means over seeds."""
    usual, rows = together.REACH_KM["ES"], {}
    together.REACH_KM["ES"] = reach_km or usual
    for name, case in CASES.items():
        found = []
        for seed in range(replicates):
            spots = two_regions(FIRST_SEED + seed, **case)
            found.append(score(*find_openings(spots)))
        rows[name] = pd.DataFrame(found).mean()
    together.REACH_KM["ES"] = usual
    return pd.DataFrame(rows).T


def here_table(replicates: int) -> pd.DataFrame:
    """`simulate_regions.score_here` for four homes, means over seeds; `told/true` is in hours."""
    rows = {}
    for name, case in CASES.items():
        skies = [two_skies(FIRST_SEED + 700 + seed, **case) for seed in range(replicates)]
        found = [(find_openings(spots), sky) for spots, sky in skies]
        for home, place in HOMES.items():
            table = pd.DataFrame(
                score_here(openings_from(*told, **place), sky, told[0], **place) for told, sky in found
            )
            mean = table.mean()
            rows[name, home] = pd.concat([mean, pd.Series({"told/true": mean["told"] / mean["true"]})])
    return pd.DataFrame(rows).T


def same_openings(replicates: int) -> dict[str, bool]:
    """Whether the openings are the same reports when the Earth is turned, mirrored, and rows are shuffled."""
    same = dict.fromkeys(("turned", "mirrored", "other hemisphere", "shuffled", "a year later"), True)
    for seed in range(replicates):
        spots = two_regions(FIRST_SEED + 500 + seed, days=20)
        moved = {
            "turned": spots.assign(mid_lon=(spots["mid_lon"] + 137.31 + 180) % 360 - 180),
            "mirrored": spots.assign(mid_lon=-spots["mid_lon"]),
            "other hemisphere": spots.assign(mid_lat=-spots["mid_lat"]),
            "shuffled": spots.sample(frac=1, random_state=seed),
            "a year later": spots.assign(time=spots["time"] + pd.Timedelta(days=365, hours=5, minutes=7)),
        }
        plain = _partition(find_openings(spots)[0])
        for name, table in moved.items():
            same[name] &= _partition(find_openings(table)[0]) == plain
    return same


def _partition(spots: pd.DataFrame) -> list[int]:
    """For each report the first row of its opening, −1 where it has none: a partition without numbers."""
    number = spots["opening"].sort_index()
    first = number.dropna().drop_duplicates()
    return number.map(pd.Series(first.index, index=first.to_numpy())).fillna(-1).astype(int).tolist()


def demo_table() -> pd.DataFrame:
    """Opening days of the demo by scope, and in the region against the truth (half an hour or more)."""
    season = open_tables(None)
    shift = pd.Timedelta(minutes=round(4 * locators.place(season.about.home)["lon"]))
    truth = pd.read_csv(demo_files()[0].parent / "truth" / "half_hours.csv.gz", parse_dates=["time"])
    by_day = truth.groupby((truth["time"].dt.tz_localize(None) + shift).dt.normalize())[list(TRUTH.values())]
    really, rows = by_day.sum() >= 1, []
    for name, column in TRUTH.items():
        keys = dict(zip(("band", "mechanism", "path_type"), name.split(), strict=True))
        days = {
            scope: of_series(season.days, scope=scope, **keys) for scope in ("here", "neighbours", "region")
        }
        region = days["region"].set_index("day")
        region = region[region["listened"]].join(really[column].rename("truth"), how="inner")
        both = int((region["open"] & region["truth"]).sum())
        row = {"series": name} | {scope: int(table["open"].sum()) for scope, table in days.items()}
        row |= {"truth": int(region["truth"].sum()), "of days": len(region)}
        row |= {"found": both / region["truth"].sum(), "right": both / region["open"].sum()}
        rows.append(row)
    return pd.DataFrame(rows).set_index("series")


def weekend(folder: Path) -> pd.DataFrame:
    """6 m sporadic E of the weekend as two homes see it, by scope: spans of half an hour or more, UTC."""
    files = [str(path) for path in sorted((folder / "weekend_logs").glob("*.log"))]
    spots = tag_spots(gather_files(files).spots)
    listening, rows = find_listening(spots), []
    for home in ("EM74", "EN37"):
        _, table = find_openings(spots, listening=listening, home=locators.place(home))
        mine = table[(table["band"] == "6m") & (table["mechanism"] == "ES") & (table["grade"] != "single")]
        mine = mine[mine["duration_min"] >= LEAST_MIN]
        for scope, own in mine.groupby("scope"):
            shut = own[
                (own["start"] < pd.Timestamp(SHUT[1], tz="UTC"))
                & (own["end"] > pd.Timestamp(SHUT[0], tz="UTC"))
            ]
            spans = ", ".join(f"{one.start:%d %H%M}–{one.end:%d %H%M}" for one in own.itertuples())
            rows.append(
                {"home": home, "scope": scope, "n": len(own), "8th 1830–2200": len(shut), "spans": spans}
            )
    return pd.DataFrame(rows).set_index(["home", "scope"])


def contest(folder: Path) -> pd.DataFrame:
    """6 m sporadic E of one station's weekend: openings of two stations or more, here and in the region."""
    spots = tag_spots(gather_files([str(folder / "contest_weekend.adi")]).spots)
    home = spots["rx_locator"].mode().iloc[0]
    _, table = find_openings(spots, home=locators.place(home))
    mine = table[(table["band"] == "6m") & (table["mechanism"] == "ES") & (table["grade"] == "confirmed")]
    return mine[["scope", "start", "end", "n_spots", "max_km", "mid_lon", "mid_lat", "extent_km", "joined"]]


def main(folder: Path) -> None:
    """Print every table."""
    pd.set_option(
        "display.width", 200, "display.max_colwidth", 300, "display.precision", 3, "display.max_columns", 20
    )
    print("Two regions 3 000 km apart (5 seeds); bars: across 0, recall >= .90, precision >= .85")
    print(regions_table(5).to_string())
    for reach_km in REACHES:
        print(
            f"\nwith a reach of {reach_km:.0f} km (2 seeds)\n{regions_table(2, reach_km=reach_km).to_string()}"
        )
    print(f"\nOpen here, hours, in the first region's sky (3 seeds)\n{here_table(3).to_string()}")
    print(f"\nThe same openings when: {same_openings(3)}")
    if folder.is_dir():
        print(f"\nA weekend of twelve logs, 6 m sporadic E\n{weekend(folder).to_string()}")
        print(f"\nOne station's weekend\n{contest(folder).to_string(index=False)}")
    print(f"\nDemo, opening days in all seasons\n{demo_table().to_string()}")
    print(
        "\nChance of 6 m sporadic E here over the truth, bar .85-1.15; the demo, then worlds whose sky is watched"
    )
    print(
        f"in part only, where the level is a lower bound\n{here_truth.chances(open_tables(None)).to_string()}"
    )
    print(here_truth.simulated(2).to_string())


if __name__ == "__main__":
    main(Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).parents[2] / "shared" / "real")
