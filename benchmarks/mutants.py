"""Do the tests notice? `python -m benchmarks.mutants ROOM [--sample 50] [--seed 1] [--only MODULE]`.

One number, comparison or operator of a room's source is altered at a time, and the tests that name the
module are run, the first red one ends it. What survives is printed with its line: either no test holds the
place, or nothing depends on it (`tests/MUTANTS.md` says which).
"""

from __future__ import annotations

import argparse
import ast
import random
import time
from dataclasses import dataclass
from functools import cache
from itertools import zip_longest
from pathlib import Path
from typing import Any

from benchmarks.altered import ROOT, altered, name_of, warm

SWAPS: dict[type, type] = {
    ast.Lt: ast.LtE,
    ast.LtE: ast.Lt,
    ast.Gt: ast.GtE,
    ast.GtE: ast.Gt,
    ast.Eq: ast.NotEq,
    ast.NotEq: ast.Eq,
    ast.Add: ast.Sub,
    ast.Sub: ast.Add,
    ast.Mult: ast.Div,
    ast.Div: ast.Mult,
    ast.BitAnd: ast.BitOr,
    ast.BitOr: ast.BitAnd,
    ast.And: ast.Or,
    ast.Or: ast.And,
}
STEP = 0.15  # by which a number with a fraction is altered: .7 becomes .6 or .8
SECONDS = 300.0  # for the tests of one mutant; one that never ends is a dead one
LARGEST_TUPLE = 12  # numbers; what is longer is a table of data
BY_HAND = ("build_zones.py",)  # run by hand, never by a review
SLOW = ("test_recovery.py", "test_regions.py", "test_bars.py", "test_all_bars.py", "test_other_world.py")
SLOW += (
    "test_anything.py",
    "test_real.py",
    "test_demo.py",
    "test_review.py",
    "test_odd_seasons.py",
    "test_readme.py",
)
MOST_FILES = 2


@dataclass(frozen=True)
class Mutant:
    """One alteration: the file, its line, what stood there, what stands there now, the altered tree."""

    path: Path
    line: int
    before: str
    after: str
    tree: ast.Module


def places(path: Path) -> list[tuple[Path, int]]:
    """Every place of a file that can be altered: the file, and the number of the node in its tree."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    data = {id(part) for node in tree.body if _is_table(node) for part in ast.walk(node)}
    return [
        (path, place)
        for place, node in enumerate(ast.walk(tree))
        if _can(node) and id(node) not in data and path.name not in BY_HAND
    ]


def _is_table(node: ast.stmt) -> bool:
    """Whether a statement at the head of a module is a table of data: scores hold it, not its every cell."""
    numbers = [part for part in ast.walk(node) if isinstance(part, ast.Constant) and _can(part)]
    return isinstance(node, ast.Assign | ast.AnnAssign) and len(numbers) > LARGEST_TUPLE


def _can(node: ast.AST) -> bool:
    if isinstance(node, ast.Constant):
        return type(node.value) in (int, float)
    if isinstance(node, ast.Compare):
        return type(node.ops[0]) in SWAPS
    return isinstance(node, ast.BinOp | ast.BoolOp) and type(node.op) in SWAPS and not _typing(node)


def _typing(node: ast.AST) -> bool:
    """Whether an expression is a union of types."""
    parts = [part for part in ast.walk(node) if isinstance(part, ast.Constant)]
    return isinstance(node, ast.BinOp) and any(part.value is None for part in parts)


def mutant(path: Path, place: int) -> Mutant:
    """The alteration of one place; which way a number goes is decided by the place itself."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    node: Any = list(ast.walk(tree))[place]
    before, sign = ast.unparse(node), random.Random(place).choice([-1, 1])
    if isinstance(node, ast.Constant):
        whole = type(node.value) is int
        node.value = node.value + sign if whole else node.value * (1 + sign * STEP) or 1.0
    elif isinstance(node, ast.Compare):
        node.ops[0] = SWAPS[type(node.ops[0])]()
    else:
        node.op = SWAPS[type(node.op)]()
    return Mutant(path, node.lineno, before, ast.unparse(node), tree)


@cache
def tests_of(path: Path) -> tuple[str, ...]:
    """Quick test files that name a module, the mirrored one first; else those of what is built on it."""
    names = {path}
    while True:
        tests = (one for one in sorted((ROOT / "tests").rglob("test_*.py")) if one.name not in SLOW)
        found = [one for one in tests if _imports(one) & names]
        if found:
            mirrored = {f"test_{one.name}" for one in names}
            found.sort(key=lambda one: (one.name not in mirrored, one.parts[-2] != path.parts[-2]))
            return tuple(str(one) for one in found[:MOST_FILES])
        names |= {one for one in (ROOT / "analysis").rglob("*.py") if _imports(one) & names}


@cache
def _imports(path: Path) -> set[Path]:
    """Files of the package that a file imports."""
    found = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.ImportFrom) and node.module and node.module.startswith("analysis"):
            names = [node.module, *(f"{node.module}.{alias.name}" for alias in node.names)]
            found |= {ROOT.joinpath(*name.split(".")).with_suffix(".py") for name in names}
    return found


def survives(mutant: Mutant | None, tests: tuple[str, ...]) -> bool:
    """Whether all tests stay green."""

    def run() -> int:
        import pytest

        options = ["-x", "-q", "-p", "no:cacheprovider", "--assert=plain"]
        return int(pytest.main([*options, *tests]))

    path, tree = (mutant.path, mutant.tree) if mutant else (None, None)
    return altered(path, tree, run, seconds=SECONDS) == 0


def main() -> None:
    """Alter, test, tell."""
    parser = argparse.ArgumentParser(prog="python -m benchmarks.mutants", description=__doc__.splitlines()[0])
    parser.add_argument("room", choices=["physics", "gather", "tag", "find", "fit", "plan"])
    parser.add_argument("--sample", type=int, default=50)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--only", default="", help="part of a module's path")
    options = parser.parse_args()
    warm()
    paths = sorted((ROOT / "analysis" / options.room).rglob("*.py"))
    by_module = [found for path in paths if options.only in str(path) and (found := places(path))]
    chosen = _chosen(by_module, options.sample, random.Random(options.seed))
    began, alive = time.perf_counter(), 0
    for tests in {tests_of(path) for path, _ in chosen}:
        assert survives(None, (*tests, "--collect-only")), f"cannot even be collected: {tests}"
    for one in (mutant(*place) for place in sorted(chosen)):
        lives = survives(one, tests_of(one.path))
        alive += lives
        if lives:
            print(f"{name_of(one.path)}:{one.line}: {one.before}  ->  {one.after}", flush=True)
    killed = len(chosen) - alive
    print(
        f"{options.room}: {killed} of {len(chosen)} killed ({killed / len(chosen):.0%}), "
        f"out of {sum(map(len, by_module))}"
    )
    print(f"{time.perf_counter() - began:.0f} s, seed {options.seed}")


def _chosen(by_module: list[list], sample: int, rng: random.Random) -> list:
    """So many places, of every module about as many."""
    for found in by_module:
        rng.shuffle(found)
    in_turn = [one for row in zip_longest(*by_module) for one in row if one is not None]
    return in_turn[:sample]


if __name__ == "__main__":
    main()
