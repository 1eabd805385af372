"""What every test may lean on: the real inputs where they exist, and a network that is shut."""

import os
import shutil
import socket
import subprocess
import sys
import sysconfig
import venv
from pathlib import Path

import pytest
from filelock import FileLock

import analysis  # noqa: F401 - before numpy, which then takes one thread for linear algebra

ROOT = Path(__file__).parents[1]
LONG = ("test_demo.py", "test_odd_seasons.py")
CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")


@pytest.fixture(scope="session")
def real_inputs():
    """Folder of real, anonymised inputs that is not part of the repository."""
    folder = ROOT.parent / "shared" / "real"
    if not folder.is_dir():
        pytest.skip("the folder of real inputs is not beside this checkout")
    return folder


@pytest.fixture
def no_network(monkeypatch):
    """Any attempt to reach another machine fails at once."""

    def refuse(*args, **kwargs):
        raise AssertionError(f"tried to reach the network: {args}")

    monkeypatch.setattr(socket.socket, "connect", refuse)
    monkeypatch.setattr(socket, "create_connection", refuse)
    monkeypatch.setattr("urllib.request.urlopen", refuse)


def pytest_collection_modifyitems(items):
    """The files that take longest go first, so that of two processes none is left with one at the end."""
    items.sort(key=lambda item: item.path.name not in LONG)


@pytest.fixture(scope="session")
def season(tmp_path_factory):
    """The demo's finished tables; of several processes one works them out and the others wait for it."""
    from analysis import review  # here, so that the tests of one room start at once

    with FileLock(tmp_path_factory.getbasetemp().parent / "demo.lock"):
        return review.demo_tables()


@pytest.fixture(scope="session")
def installed(tmp_path_factory):
    """A function that runs a command of an environment with the built wheel and, beside it, this one's libraries.

    The libraries are found by a path file: it runs no path file of theirs, so the checkout is not among them.
    """
    folder = tmp_path_factory.mktemp("wheel")
    build = [sys.executable, "-m", "hatchling", "build", "--target", "wheel", "--directory", folder]
    subprocess.run(build, cwd=ROOT, check=True, capture_output=True)
    (wheel,) = folder.glob("*.whl")
    venv.create(folder / "env", with_pip=False)
    (packages,) = [*folder.glob("env/lib/python*/site-packages"), *folder.glob("env/Lib/site-packages")]
    (packages / "libraries.pth").write_text(sysconfig.get_path("purelib"), encoding="utf-8")
    commands = folder / "env" / ("Scripts" if os.name == "nt" else "bin")
    pip = [sys.executable, "-m", "pip", "--python", commands / "python", "install", "-q", "--no-deps"]
    subprocess.run([*pip, "--no-index", wheel], check=True, capture_output=True)
    clean = {name: value for name, value in os.environ.items() if name != "PYTHONPATH"}

    def run(command, *arguments, cwd):
        called = [commands / command, *arguments]
        return subprocess.run(called, cwd=cwd, env=clean, capture_output=True, text=True, check=False)

    return run


@pytest.fixture(scope="session")
def browser():
    """Headless Chromium; one for all tests, since a process can hold but one of its drivers."""
    if CHROMIUM is None:
        pytest.skip("Chromium is not installed")
    api = pytest.importorskip("playwright.sync_api", reason="playwright is not installed")
    with api.sync_playwright() as playwright:
        chromium = playwright.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox"])
        yield chromium
        chromium.close()


@pytest.fixture(scope="session")
def demo_review(request, tmp_path_factory):
    """The demo review, made by the installed command in a folder that is no checkout; one for all processes."""
    base = tmp_path_factory.getbasetemp()
    folder = (base.parent if os.environ.get("PYTEST_XDIST_WORKER") else base) / "demo-review"
    with FileLock(f"{folder}.lock"):
        if not folder.exists():
            request.getfixturevalue("season")
            done = request.getfixturevalue("installed")("seasonbook", "review", "--out", folder, cwd=base)
            assert done.returncode == 0, done.stderr
    return folder
