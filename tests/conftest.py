"""What every test may lean on: the real inputs where they exist, and a network that is shut."""

import shutil
import socket
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")


@pytest.fixture
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
