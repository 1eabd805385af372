"""Run the start page and the nine notebooks on a review's tables and keep them executed.

`python -m analysis.workbook` stores the repository's own notebooks anew, on the demo seasons.
"""

from __future__ import annotations

import json
import os
import re
import shutil
import subprocess
import sys
import tempfile
import threading
from collections.abc import Iterator, Mapping
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any

import IPython  # noqa: F401 - before any thread: matplotlib trips over a half-imported one
import nbformat
import pandas as pd
import psutil
from nbclient import NotebookClient
from nbclient.exceptions import CellExecutionError, DeadKernelError
from nbformat.sign import NotebookNotary

from analysis.folders import cache_folder
from analysis.shipped import INSTALLED, NOTEBOOKS, notebook_paths
from analysis.show.gallery import chased
from analysis.tables import Tables, load

COPY = "seasonbook-notebooks"
START = "00_start.ipynb"
QUIET = ["--log-level=ERROR"]  # a kernel of our own needs no advice about transport
SEPTEMBER = 9  # a month for a question of one's own where no tropo tells a better one
AT_ONCE = 2  # a kernel is mostly waiting for imports; more would only queue for the processor
NO_CALLS_HOME = {"@jupyterlab/apputils-extension:announcements": True}  # it asks for news and new versions
# One line of a settings cell: a name, its value, and what it means.
SETTING = re.compile(r"(?P<name>\w+) = (?P<value>.*?)(?P<said>  # .*)?")
STATE = "application/vnd.jupyter.widget-state+json"
_stopped = threading.Event()


def run_notebooks(out: Path, *, tables: Path) -> Iterator[Path]:
    """Execute every notebook on the tables in one folder and write it to another, in reading order.

    Parameters
    ----------
    out : Path
        Folder for the executed notebooks.
    tables : Path
        Folder that `analysis.tables.save` wrote; put into each notebook's settings cell, with the settings
        that suit it.

    Raises
    ------
    RuntimeError
        If a cell fails: the notebook's name and the last line of what it said.
    MemoryError
        If a notebook's process died, which the system does when memory runs out.
    """
    _stopped.clear()
    out.mkdir(parents=True, exist_ok=True)
    values = settings(load(tables))
    with _private_kernels(), ThreadPoolExecutor(AT_ONCE) as pool:
        yield from pool.map(lambda path: _run(path, out / path.name, tables, values), notebook_paths())


@contextmanager
def stopped_with_us() -> Iterator[None]:
    """Whoever stops what is done inside does not wait for nine notebooks: running ones end, none is begun."""
    try:
        yield
    except BaseException:
        _stopped.set()
        for kernel in psutil.Process().children(recursive=True):
            with suppress(psutil.Error):  # gone by itself
                kernel.kill()
        raise


def store_notebooks() -> None:
    """Execute the repository's notebooks on the demo seasons and keep their outputs in place."""
    first, *others = notebook_paths()  # the first leaves the demo's tables where the others find them
    with _private_kernels(), ThreadPoolExecutor(AT_ONCE) as pool:
        _store(first)
        list(pool.map(_store, others))


def trust(paths) -> None:
    """Sign notebooks that we executed ourselves, so that JupyterLab shows their controls before they run again."""
    notary = NotebookNotary(**_signatures())
    for path in paths:
        notary.sign(nbformat.read(path, as_version=4))


def _signatures() -> dict[str, str]:
    """Where our signatures are kept: apart from those of the user's own notebooks."""
    folder = cache_folder() / "signatures"
    folder.mkdir(exist_ok=True)
    return {"db_file": str(folder / "nbsignatures.db"), "secret_file": str(folder / "notebook_secret")}


def demo_folder() -> Path:
    """Where the demo's notebooks may be changed: a checkout's own, else a copy in the working folder.

    An installed package is not for writing. What already lies in the copy is a person's work and stays.
    """
    if not INSTALLED:
        return NOTEBOOKS
    folder = Path(COPY)
    folder.mkdir(exist_ok=True)
    for path in notebook_paths():
        if not (folder / path.name).exists():
            shutil.copy(path, folder)
    return folder


def open_lab(folder: Path, *options: str) -> None:
    """Serve JupyterLab with the start page of a folder of notebooks until it is stopped.

    Parameters
    ----------
    folder : Path
        Holds `START` and the nine notebooks.
    options : str
        More of JupyterLab's own options.
    """
    with tempfile.TemporaryDirectory() as config:
        quiet = Path(config, "labconfig", "page_config.json")
        quiet.parent.mkdir()
        quiet.write_text(json.dumps({"disabledExtensions": NO_CALLS_HOME}), encoding="utf-8")
        others = os.environ.get("JUPYTER_CONFIG_PATH")
        path = os.pathsep.join([config, *([others] if others else [])])
        first = f"--LabApp.default_url=/lab/tree/{START}"
        signed = [f"--NotebookNotary.{name}={file}" for name, file in _signatures().items()]
        # Whatever the user's own settings say: who is not on this machine cannot open it.
        alone = "--ServerApp.ip=127.0.0.1"
        if hasattr(os, "geteuid") and os.geteuid() == 0:  # in a container there is often nobody else
            options = ("--allow-root", *options)
        command = [sys.executable, "-m", "jupyterlab", first, alone, *signed, *options, str(folder)]
        subprocess.run(command, check=False, env=os.environ | {"JUPYTER_CONFIG_PATH": path})


@contextmanager
def _private_kernels() -> Iterator[None]:
    """Kernels keep their notes in a folder of their own: none of the user's is read, written or needed."""
    names = ("IPYTHONDIR", "JUPYTER_RUNTIME_DIR", "JUPYTER_CONFIG_DIR")
    before = {name: os.environ.get(name) for name in names}
    with tempfile.TemporaryDirectory(prefix="seasonbook-", ignore_cleanup_errors=True) as folder:
        os.environ.update({name: str(Path(folder, name.lower())) for name in names})
        try:
            yield
        finally:
            for name, value in before.items():
                os.environ.pop(name) if value is None else os.environ.update({name: value})


def _run(path: Path, target: Path, tables: Path, values: Mapping[str, Any]) -> Path:
    if _stopped.is_set():
        raise RuntimeError(f"notebook {target.name}: was not begun, since the review was stopped")
    notebook = nbformat.read(path, as_version=4)
    set_settings(notebook, {**values, "tables": tables.resolve().as_posix()})
    notebook = _executed(notebook, target)
    # Once moved, the executed copy must still find its tables.
    set_settings(notebook, {"tables": "../tables"})
    nbformat.write(notebook, target)
    trust([target])
    return target


def _store(path: Path) -> None:
    nbformat.write(_executed(nbformat.read(path, as_version=4), path), path)


def _executed(notebook, target: Path):
    """The notebook with its outputs, run in the folder of `target`, without a trace of machine or moment."""
    client = NotebookClient(
        notebook, timeout=600, kernel_name="python3", extra_arguments=QUIET, record_timing=False
    )
    try:
        client.execute(cwd=str(target.parent))
    except DeadKernelError as error:
        raise MemoryError(f"notebook {target.name}: its process was ended from outside") from error
    except CellExecutionError as error:
        raise RuntimeError(f"notebook {target.name}: {str(error).strip().splitlines()[-1]}") from error
    notebook.metadata["language_info"] = {"name": "python"}
    state = notebook.metadata.get("widgets", {}).get(STATE, {}).get("state", {})
    text = nbformat.writes(notebook)
    for number, model in enumerate(state):  # random names would make every storing differ
        text = text.replace(model, f"{number:032x}")
    return nbformat.reads(text, as_version=4)


def settings(tables: Tables) -> dict[str, Any]:
    """What the settings cells of the notebooks say for a review: its main series, newest season and home.

    Parameters
    ----------
    tables : Tables
        The review's finished tables.

    Returns
    -------
    dict
        Name of a setting to its value; a notebook takes those that its own cell names.
    """
    home, days = tables.about.home, tables.days["season"].dropna()
    tropo = tables.spots[tables.spots["mechanism"].eq("TR")]
    far = _squares_reached(tropo, home[:4])
    return chased(tables)[0] | {
        "year": int(days.max()) if len(days) else int(tables.about.data_until[:4] or 0),
        "month": int(tropo["time"].dt.month.mode().iloc[0]) if len(tropo) else SEPTEMBER,
        "home": home,
        "to": far[0] if far else home,
        "club": tables.about.club,
    }


def _squares_reached(spots, home: str) -> list[str]:
    """Squares that home's square had most reports with, either way; of equal ones the first by name."""
    ends = [spots[side].astype("str").str[:4] for side in ("tx_locator", "rx_locator")]
    far = pd.concat([ends[1 - at][ends[at] == home] for at in (0, 1)])
    counts = far[~far.isin(["", home])].value_counts()
    return sorted(counts.index, key=lambda square: (-counts[square], square))


def set_settings(notebook, values: Mapping[str, Any]) -> None:
    """Put values behind the names of a notebook's settings cell; names that it does not have are left out."""
    for cell in notebook.cells:
        if "parameters" in cell.metadata.get("tags", []):
            cell.source = "\n".join(_line(line, values) for line in cell.source.splitlines())


def _line(line: str, values: Mapping[str, Any]) -> str:
    found = SETTING.fullmatch(line)
    if not found or found["name"] not in values:
        return line
    return f"{found['name']} = {values[found['name']]!r}{found['said'] or ''}"


if __name__ == "__main__":
    store_notebooks()
