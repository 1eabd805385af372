"""The wheel is the product: what a checkout has beside the package, an installed package has inside it."""

import json

import pytest

from analysis import shipped, workbook

ASK = """
import json
from analysis import review, shipped, workbook
print(json.dumps({
    "package": str(shipped.PACKAGE), "installed": shipped.INSTALLED, "lab": str(workbook.demo_folder()),
    "notebooks": [path.name for path in shipped.notebook_paths()],
    "demo": [path.name for path in shipped.demo_files()], "sources": len(shipped.source_files()),
}))
"""


@pytest.fixture(scope="module")
def told(installed, tmp_path_factory):
    """What an installed package says of itself, asked in a folder that is no checkout."""
    folder = tmp_path_factory.mktemp("elsewhere")
    done = installed("python", "-c", ASK, cwd=folder)
    return json.loads(done.stdout) | {"folder": folder}


def test_wheel_holds_notebooks_and_demo(told):
    """The same ten notebooks, the same demo files and the same modules as here, from its own folder."""
    assert "site-packages" in told["package"]
    assert told["installed"]
    assert told["notebooks"] == [path.name for path in shipped.notebook_paths()]
    assert len(told["notebooks"]) == 10
    assert told["demo"] == [path.name for path in shipped.demo_files()]
    assert told["sources"] == len(shipped.source_files())


def test_installed_notebooks_are_copied_for_changing(told):
    """The workbook of an installed package opens on a copy in the working folder."""
    copies = sorted(path.name for path in (told["folder"] / told["lab"]).iterdir())
    assert copies == told["notebooks"]


def test_a_changed_copy_stays(tmp_path, monkeypatch):
    """A person's own notebook is not written over; one that is missing is added."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(workbook, "INSTALLED", True)
    own = tmp_path / workbook.COPY / workbook.START
    own.parent.mkdir()
    own.write_text("mine")
    assert len(list(workbook.demo_folder().iterdir())) == 10
    assert own.read_text() == "mine"


def test_a_checkout_opens_its_own(monkeypatch, tmp_path):
    """In a checkout the notebooks themselves are opened, and nothing is copied."""
    monkeypatch.chdir(tmp_path)
    assert workbook.demo_folder() == shipped.NOTEBOOKS
    assert not list(tmp_path.iterdir())
