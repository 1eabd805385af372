"""What moves when a constant is a fifth off: `python -m benchmarks.constants ROOM...`, kept in `constants.csv`.

Every number at the head of a module of tag, find, fit and plan is made 20 % smaller and 20 % larger in turn, and
a small simulated region is worked through again: two weeks of seven mechanisms (tag), six weeks of listening and
openings (find), three seasons of half-hours (fit), one plan (plan). A change below half a percent
is called nothing *here*; another region may be nearer to its edge.
"""

from __future__ import annotations

import argparse
import ast
import csv
import math
import pickle
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

from benchmarks.altered import ROOT, altered, warm

FILE = Path(__file__).with_suffix(".csv")
FACTORS = {"down": 0.8, "up": 1.2}
SECONDS = 120.0
MOVED = 0.005  # of a measure; less is told as nothing
NO_QUANTITY = ("speed", "any", "definition", "code", "numerical", "a guard", "counts the forms", "machine")


def tag_data() -> Any:
    """Reports of one season with the mechanism that made each."""
    from tests.tag.mixed_season import mixed_season

    return mixed_season(seed=41, n_stations=35)


def tag_measures(data: Any) -> dict[str, float]:
    """How many reports get a call, and how many of those calls are right."""
    from analysis.tag.tags import tag_spots

    spots, truth = tag_spots(data[0]), data[1]
    label = spots["mechanism"].astype("str").to_numpy()
    called = label != "undetermined"
    right = label == truth
    return {
        "called": called.mean(),
        "calls right": right[called].mean(),
        "tropo": (label == "TR").sum(),
        "sporadic E": (label == "ES").sum(),
        "ordinary range [km]": spots["ordinary_km"].median(),
        "path types: sea": (spots["path_type"] == "sea").sum(),
        "night": (spots["light"] == "night").sum(),
    }


def find_data() -> Any:
    """Receptions of a region that listens on and off, and two regions with a place to every report."""
    import numpy as np

    from tests.find import simulate
    from tests.find.simulate_regions import two_regions

    rng = np.random.default_rng(41)
    truth = simulate.true_openings(rng, days=75)
    on = simulate.sessions(rng, truth, days=75, monitors=2)
    return simulate.heard_spots(rng, on, truth, digital=0.6), two_regions(41, days=12)


def find_measures(data: Any) -> dict[str, float]:
    """Listening, openings, opening days, open half-hours, patches."""
    from analysis.find.cells import half_hours
    from analysis.find.days import days_table
    from analysis.find.grouping.patches import find_patches
    from analysis.find.listening import find_listening
    from analysis.find.openings import find_openings

    heard, placed = data
    home = {"lon": 0.0, "lat": 47.0}
    listening = find_listening(heard)
    spots, openings = find_openings(heard, listening=listening, home=home)
    firm = openings[(openings["scope"] == "region") & (openings["grade"] == "confirmed")]
    days = days_table(openings, spots, listening, series=[("6m", "ES", "all")], **home)
    cells = half_hours(spots, listening, band="6m", mechanism="ES")
    two, many = find_openings(placed)
    region = many[many["scope"] == "region"]
    hours = (listening["end"] - listening["start"]).dt.total_seconds() / 3600
    found = {
        "listening [h]": hours.sum(),
        "of monitors": hours[listening["basis"] == "monitor"].sum(),
        "openings": len(firm),
        "open [h]": firm["duration_min"].sum() / 60,
        "ends nobody saw": int(firm[["start_censored", "end_censored"]].to_numpy().sum()),
        "half-hours watched": (cells["n_listening"] > 0).sum(),
        "detections": cells["n_detected"].sum(),
        "openings of two regions": (region["grade"] == "confirmed").sum(),
        "their extent [km]": region["extent_km"].mean(),
        "patches with a drift": find_patches(two)["speed_ms"].notna().sum(),
    }
    by_scope = days[days["open"]].groupby("scope").size()
    return found | {f"opening days {scope}": by_scope.get(scope, 0) for scope in ("region", "here")}


def fit_data() -> Any:
    """Half-hours of seasons of sporadic E and of tropo over land, and opening days."""
    from tests.fit.make_days import day_table
    from tests.fit.simulate import simulate

    cells = [simulate(kind, seasons=2, seed=41).cells for kind in ("es6", "land2")]
    return *cells, day_table(seasons=5, memory=1.0, seed=41)


def fit_measures(data: Any) -> dict[str, float]:
    """Curves, their intervals, dates and hours of the maxima, the index, windows, the rule of thumb."""
    from analysis.fit.ahead.days import DaySeries
    from analysis.fit.ahead.windows import windows_table
    from analysis.fit.assess import Verdict
    from analysis.fit.daily import daily_table
    from analysis.fit.estimate import Series
    from analysis.fit.season import estimates_table, season_table, seasons_table

    series = [
        Series("6m", "ES", "all", "solar", "A", data[0]),
        Series("2m", "TR", "land", "sun", "A", data[1]),
    ]
    days = DaySeries("6m", "ES", "all", data[2], Verdict("ok", "A", (), ()))
    windows = windows_table([days])
    estimates = estimates_table(series)
    found = {}
    for name, table in (("hour", daily_table(series)), ("season", season_table(series))):
        chance, width = table["chance"], table["high"] - table["low"]
        found |= {f"chance by {name}": chance.mean(), f"interval by {name}": width.mean()}
        found[f"refused by {name}"] = int((table["verdict"] == "refuse").sum())
    seasons = seasons_table(series)
    found |= {"index": seasons["index"].std(), "its interval": (seasons["high"] - seasons["low"]).mean()}
    found |= {"best window": windows["chance"].max(), "near-best windows": windows["near_best"].sum()}
    found["interval of windows"] = (windows["high"] - windows["low"]).mean()
    for row in estimates.itertuples():
        found[f"{row.mechanism} {row.what}"] = row.value
    return found


def plan_data() -> Any:
    """Two months with an opening a day east of home, its clouds scattered, and the half-hours of two seasons."""
    import numpy as np

    from tests.fit.simulate import simulate
    from tests.plan.test_places import season

    spots, openings, series = season()
    rng = np.random.default_rng(41)
    off = rng.normal(0, 1.8, (len(spots), 2))
    spots = spots.assign(mid_lon=spots["mid_lon"] + 1.5 * off[:, 0], mid_lat=spots["mid_lat"] + off[:, 1])
    return spots, openings, series, simulate("es6", seasons=2, seed=41).cells


def plan_measures(data: Any) -> dict[str, float]:
    """Alarms, a sked, what bridges paths of several lengths, and places beside each other."""
    from analysis.fit.estimate import Series
    from analysis.plan.localtime import alarms, hour_by_month
    from analysis.plan.places import compare_places
    from analysis.plan.skeds import Sked, sked_path, sked_table

    spots, openings, series, cells = data
    curve = Series("6m", "ES", "all", "solar", "A", cells)
    runs = alarms(hour_by_month(curve, lon=6.0, lat=50.0, zone="UTC", year=2025))
    skeds = sked_table([curve], spots, Sked(home="JN09", partner="JO70"), zone="UTC", year=2025)
    places = compare_places(["JO00AA", "JN39", "JO50"], spots, openings, [series], zone="UTC", year=2025)
    # Of some 430, 570, 800, 1 000, 3 800 and 4 700 km.
    partners = ("JO32", "JN33", "JO52", "JO62", "KM72", "LN00")
    return {
        "alarms": len(runs),
        "hours with an alarm": (runs["end"] - runs["start"]).sum(),
        "sked hours": skeds["chance"].notna().sum(),
        "share of the path": skeds["share"].max(),
        "paths bridged": sum(len(sked_path("JN09", one)["points"]) for one in partners),
        "days of places": places["n_days"].sum(),
        "openings of places": places["n_openings"].sum(),
        "share of places": places["open_share"].mean(),
        "headings told": sum(len(one.split(", ")) for one in places["headings"]),
    }


ROOMS: dict[str, tuple[Callable[[], Any], Callable[[Any], dict[str, float]], tuple[str, ...]]] = {
    # what no measure looks at is left out: nothing could be said of it
    "tag": (tag_data, tag_measures, ("build_zones.py", "strength.py", "reasons.py", "likelihoods.py")),
    "find": (
        find_data,
        find_measures,
        ("signs", "one_path.py", "monthly.py", "grid.py", "on_air.py", "watched.py"),
    ),
    "fit": (
        fit_data,
        fit_measures,
        ("signs", "climatology.py", "paths.py", "thinning.py", "plain.py", "nature.py"),
    ),
    "plan": (
        plan_data,
        plan_measures,
        ("calendars.py", "sites.py", "update.py", "choice.py", "plan.py", "constraints.py"),
    ),
}


def decisive(room: str) -> Iterator[tuple[Path, str, ast.stmt]]:
    """File, name and statement of every number of a room that is a quantity."""
    from tests.test_constants import comments, numeric, words

    for path in sorted((ROOT / "analysis" / room).rglob("*.py")):
        if any(part in ROOMS[room][2] for part in (path.name, *path.parts)):
            continue
        source = path.read_text(encoding="utf-8")
        for node in ast.parse(source).body:
            if isinstance(node, ast.Assign | ast.AnnAssign) and node.value and numeric(node.value):
                names = [
                    one.id
                    for one in ast.walk(node)
                    if isinstance(one, ast.Name) and isinstance(one.ctx, ast.Store)
                ]
                told = words(node, comments(source))
                if names[0].isupper() and scaled(node.value, 1.2) and not told.startswith(NO_QUANTITY):
                    yield path, ", ".join(names), node


def scaled(value: ast.expr, factor: float) -> ast.expr | None:
    """The same expression with every number of it moved; None where that means nothing."""
    if isinstance(value, ast.Constant):
        if type(value.value) is int:
            step = max(round(abs(value.value * (factor - 1))), 1)
            return ast.Constant(value.value + (step if factor > 1 else -step))
        return ast.Constant(value.value * factor) if type(value.value) is float else None
    if isinstance(value, ast.UnaryOp):
        inner = scaled(value.operand, factor)
        return inner and ast.UnaryOp(value.op, inner)
    if isinstance(value, ast.Tuple | ast.List) and len(value.elts) <= 8:
        inner = [scaled(one, factor) for one in value.elts]
        return None if None in inner else type(value)(inner, ast.Load())  # type: ignore[arg-type]
    if isinstance(value, ast.Dict) and len(value.values) <= 8:
        inner = [scaled(one, factor) for one in value.values]
        return None if None in inner else ast.Dict(value.keys, inner)  # type: ignore[arg-type]
    if isinstance(value, ast.BinOp):
        return ast.BinOp(value, ast.Mult(), ast.Constant(factor))
    return None


def moved(path: Path, line: int, factor: float) -> ast.Module:
    """The tree of a module with the constant of one line moved."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    node: Any = next(one for one in tree.body if one.lineno == line)
    node.value = scaled(node.value, factor)
    return tree


def told(usual: dict[str, float], found: Any) -> str:
    """What differs, the largest change first: `openings +12 %, open [h] -3 %`."""
    if isinstance(found, Exception):
        return "no time" if isinstance(found, TimeoutError) else "no other value fits"
    change = {name: _change(value, found.get(name, math.nan)) for name, value in usual.items()}
    large = sorted(
        (name for name in change if abs(change[name]) >= MOVED), key=lambda name: -abs(change[name])
    )
    return ", ".join(f"{name} {_how(change[name])}" for name in large[:3]) or "nothing here"


def _change(value: float, other: float) -> float:
    """Relative change; infinite where a measure came or went."""
    if math.isnan(value) or math.isnan(other) or not value:
        return 0.0 if value == other or (math.isnan(value) and math.isnan(other)) else math.inf
    return (other - value) / abs(value)


def _how(change: float) -> str:
    return (
        "came or went" if math.isinf(change) else f"{change:+.1%}" if abs(change) < 0.1 else f"{change:+.0%}"
    )


def rows_of(room: str, *, only: str = "") -> Iterator[dict[str, str]]:
    """One row for every decisive constant of a room, or of the modules with `only` in their path."""
    make, measure, _ = ROOMS[room]
    constants = altered(
        None, None, lambda: [(p, n, node.lineno) for p, n, node in decisive(room)], seconds=SECONDS
    )
    data = altered(None, None, lambda: pickle.dumps(make()), seconds=SECONDS)
    usual = altered(None, None, lambda: measure(pickle.loads(data)), seconds=SECONDS)
    if isinstance(usual, Exception):
        raise usual
    for path, name, line in constants:
        row = {"module": path.relative_to(ROOT / "analysis").as_posix(), "name": name}
        if only not in row["module"]:
            continue
        for side, factor in FACTORS.items():
            found = altered(
                path, moved(path, line, factor), lambda: measure(pickle.loads(data)), seconds=SECONDS
            )
            row[side] = told(usual, found)
        print(f"{row['module']} {name}: -20 % {row['down']}; +20 % {row['up']}", flush=True)
        yield row


def main() -> None:
    """Vary, print, keep."""
    parser = argparse.ArgumentParser(
        prog="python -m benchmarks.constants", description=__doc__.splitlines()[0]
    )
    parser.add_argument("rooms", nargs="*", default=list(ROOMS), choices=list(ROOMS))
    parser.add_argument("--only", default="", help="part of a module's path")
    options = parser.parse_args()
    warm()
    for room in options.rooms:
        kept = {(one["module"], one["name"]): one for one in kept_rows()}
        measured = f"{room}/"
        kept = {
            key: one
            for key, one in kept.items()
            if not (key[0].startswith(measured) and options.only in key[0])
        }
        kept |= {(one["module"], one["name"]): one for one in rows_of(room, only=options.only)}
        keep(list(kept.values()))


def kept_rows() -> list[dict[str, str]]:
    """What was measured before."""
    if not FILE.exists():
        return []
    with FILE.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def keep(rows: list[dict[str, str]]) -> None:
    """Write every row, in the order of the flow."""
    rows.sort(key=lambda one: (list(ROOMS).index(one["module"].split("/")[0]), one["module"]))
    with FILE.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, ["module", "name", "down", "up"], lineterminator="\n")
        writer.writeheader()
        writer.writerows(rows)


if __name__ == "__main__":
    main()
