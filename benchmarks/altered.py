"""The package with one place of its source altered: imported anew in a child process, nothing on disk touched."""

from __future__ import annotations

import ast
import importlib.abc
import importlib.machinery
import importlib.util
import multiprocessing
import os
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

ROOT = Path(__file__).parents[1]


class _Altered(importlib.abc.MetaPathFinder, importlib.machinery.SourceFileLoader):
    """Finds one module, and runs another tree than the one in its file."""

    def __init__(self, module: str, path: str, tree: ast.Module) -> None:
        super().__init__(module, path)
        self.tree = tree

    def find_spec(self, fullname: str, path=None, target=None):
        if fullname != self.name:
            return None
        package = [str(Path(self.path).parent)] if self.path.endswith("__init__.py") else None
        return importlib.util.spec_from_file_location(
            fullname, self.path, loader=self, submodule_search_locations=package
        )

    def get_code(self, fullname: str):
        return compile(ast.fix_missing_locations(self.tree), self.path, "exec")


def name_of(path: Path) -> str:
    """Name by which a file of the package is imported."""
    return ".".join(path.relative_to(ROOT).with_suffix("").parts).removesuffix(".__init__")


def altered(path: Path | None, tree: ast.Module | None, work: Callable[[], Any], *, seconds: float) -> Any:
    """What `work` returns in a child where the module at `path` is `tree`.

    Parameters
    ----------
    path, tree
        A file of the package, and the tree that is run in its place; None leaves everything as it is.
    work : callable
        It imports the package itself: the parent must not have done so.
    seconds : float
        Time allowed.

    Returns
    -------
    object
        The result, or the exception that ended the child, or TimeoutError.
    """
    assert "analysis" not in sys.modules, "the package is imported already"
    here, there = multiprocessing.Pipe(duplex=False)
    child = multiprocessing.get_context("fork").Process(target=_child, args=(path, tree, work, there))
    child.start()
    there.close()
    try:
        found = here.recv() if here.poll(seconds) else TimeoutError()
    except EOFError:
        found = RuntimeError("the child ended without a word")
    child.kill()
    child.join()
    return found


def warm() -> None:
    """Import what every child needs, but nothing of the package."""
    os.environ["OMP_NUM_THREADS"] = os.environ["OPENBLAS_NUM_THREADS"] = "1"
    for name in (
        "pandas",
        "pyarrow.parquet",
        "pyproj",
        "pytest",
        "scipy.stats",
        "statsmodels.api",
        "hypothesis",
        "matplotlib.pyplot",
    ):
        importlib.import_module(name)
    sys.path.insert(0, str(ROOT))


def _child(path, tree, work, there) -> None:
    quiet = os.open(os.devnull, os.O_WRONLY)
    for stream in (1, 2):
        os.dup2(quiet, stream)
    if path is not None:
        sys.meta_path.insert(0, _Altered(name_of(path), str(path), tree))
    try:
        there.send(work())
    except BaseException as problem:  # noqa: BLE001 - whatever an altered constant brings about is a finding
        there.send(RuntimeError(f"{type(problem).__name__}: {problem}"))
