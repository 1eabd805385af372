"""A real browser, and JupyterLab on this machine alone; without Chromium or playwright these tests are skipped."""

import contextlib
import os
import shutil
import signal
import socket
import subprocess
import sys
import time
import urllib.request

import pytest

from analysis import shipped
from analysis.show.page.page import write_page

START_LAB = """
import sys
from pathlib import Path
from analysis import workbook
workbook.trust(sorted(Path(sys.argv[1]).glob("0*.ipynb")))
workbook.open_lab(Path(sys.argv[1]), *sys.argv[2:])
"""


@pytest.fixture(scope="session")
def review_page(tmp_path_factory):
    """The stored notebooks as one page."""
    folder = tmp_path_factory.mktemp("page")
    return write_page(shipped.notebook_paths(), out=folder / "review.html", title="Season review from IN93")


@pytest.fixture(scope="session")
def lab(browser, season, tmp_path_factory):
    """Address of a JupyterLab on a copy of the stored notebooks, as `seasonbook lab` starts it; the demo is worked out."""
    folder = tmp_path_factory.mktemp("lab")
    for path in shipped.notebook_paths():
        shutil.copy(path, folder)
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    own = {f"JUPYTER_{kind}_DIR": str(folder / f".{kind.lower()}") for kind in ("CONFIG", "DATA", "RUNTIME")}
    places = {
        f"JUPYTERLAB_{kind}_DIR": str(folder / f".{kind.lower()}") for kind in ("SETTINGS", "WORKSPACES")
    }
    options = ["--no-browser", "--allow-root", f"--ServerApp.port={port}", "--IdentityProvider.token="]
    command = [sys.executable, "-c", START_LAB, str(folder), *options]
    with (folder / "lab.log").open("wb") as log:
        server = subprocess.Popen(
            command, env=os.environ | own | places, stdout=log, stderr=log, start_new_session=True
        )
        address = f"http://127.0.0.1:{port}/lab"
        try:
            _wait_for(address)
            yield address
        finally:
            os.killpg(server.pid, signal.SIGTERM)  # the server and the kernels it started
            server.wait(timeout=30)
            time.sleep(3)
            with contextlib.suppress(ProcessLookupError):  # a server that is still busy starting a kernel
                os.killpg(server.pid, signal.SIGKILL)


def _wait_for(address):
    for _ in range(240):
        try:
            return urllib.request.urlopen(address, timeout=5)
        except OSError:
            time.sleep(0.5)
    raise AssertionError("JupyterLab did not start within two minutes")
