"""Run the nine notebooks on a review's tables and keep them executed."""

from __future__ import annotations

from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import IPython  # noqa: F401 - before any thread: matplotlib trips over a half-imported one
import nbformat
from nbclient import NotebookClient
from nbclient.exceptions import CellExecutionError

NOTEBOOKS = Path(__file__).parents[1] / "notebooks"
QUIET = ["--log-level=ERROR"]  # a kernel of our own needs no advice about transport
AT_ONCE = 2  # a kernel is mostly waiting for imports; more would only queue for the processor


def notebook_paths() -> list[Path]:
    """The question notebooks in reading order."""
    return sorted(NOTEBOOKS.glob("0*.ipynb"))


def run_notebooks(out: Path, *, tables: Path) -> Iterator[Path]:
    """Execute every notebook on the tables in one folder and write it to another, in reading order.

    Parameters
    ----------
    out : Path
        Folder for the executed notebooks.
    tables : Path
        Folder that `analysis.tables.save` wrote; put into each notebook's `parameters` cell.

    Raises
    ------
    RuntimeError
        If a cell fails: the notebook's name and the last line of what it said.
    """
    out.mkdir(parents=True, exist_ok=True)
    with ThreadPoolExecutor(AT_ONCE) as pool:
        yield from pool.map(lambda path: _run(path, out / path.name, tables), notebook_paths())


def _run(path: Path, target: Path, tables: Path) -> Path:
    notebook = nbformat.read(path, as_version=4)
    _set_tables(notebook, tables.resolve())
    client = NotebookClient(notebook, timeout=600, kernel_name="python3", extra_arguments=QUIET)
    try:
        client.execute(cwd=str(target.parent))
    except CellExecutionError as error:
        raise RuntimeError(f"notebook {path.name}: {str(error).strip().splitlines()[-1]}") from error
    # Once moved, the executed copy must still find its tables.
    _set_tables(notebook, Path("../tables"))
    nbformat.write(notebook, target)
    return target


def _set_tables(notebook, folder: Path) -> None:
    for cell in notebook.cells:
        if "parameters" in cell.metadata.get("tags", []):
            cell.source = f"tables = {folder.as_posix()!r}"
