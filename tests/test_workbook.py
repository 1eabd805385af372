"""The start page and the nine notebooks keep their form: a question, short cells, small stored outputs."""

import ast
import json
import subprocess
import sys

import nbformat
import pytest

from analysis.shipped import notebook_paths
from analysis.show.page.answers import QUESTIONS
from analysis.show.page.controls import VIEW, stored
from analysis.workbook import STATE, open_lab, set_settings, settings, stopped_with_us

START, *PATHS = notebook_paths()


def code_cells(path):
    return [cell for cell in nbformat.read(path, as_version=4).cells if cell.cell_type == "code"]


def test_there_are_nine():
    """A start page, then one notebook for each question, with the titles that the start page shows."""
    assert START.stem == "00_start"
    titles = [nbformat.read(path, as_version=4).cells[0].source.splitlines()[0] for path in PATHS]
    asked = [f"# {number} · {question}" for number, question in enumerate(QUESTIONS.values(), start=1)]
    assert [path.stem for path in PATHS] == list(QUESTIONS)
    assert titles == asked


def test_one_story():
    """Each notebook leads to the next, the last back to the start."""
    for path, after in zip([START, *PATHS], [*PATHS, START], strict=True):
        assert f"({after.name})" in nbformat.read(path, as_version=4).cells[-1].source


def test_the_lab_is_for_this_machine_alone(tmp_path, monkeypatch):
    """It listens on the loopback address whatever the user's settings say, and keeps Jupyter's token."""
    started = []
    monkeypatch.setattr("subprocess.run", lambda command, **kwargs: started.append(command))
    open_lab(tmp_path)
    assert "--ServerApp.ip=127.0.0.1" in started[0]
    opened = [word for word in started[0] if "token" in word or "password" in word or "allow" in word]
    assert set(opened) <= {"--allow-root"}  # who is root in a container starts it, nobody else gets in


@pytest.mark.parametrize("path", PATHS, ids=lambda path: path.stem)
def test_title_is_a_question(path):
    """The title asks, and the first output answers."""
    notebook = nbformat.read(path, as_version=4)
    assert notebook.cells[0].source.splitlines()[0].endswith("?")
    assert any("What this cannot show" in cell.source for cell in notebook.cells)


@pytest.mark.parametrize("path", PATHS, ids=lambda path: path.stem)
def test_cells_are_short_and_stored(path):
    """Eight to fifteen code cells of at most six lines, no function definitions, all executed, under 1.3 MB
    (pictures are stored twice as fine as a page shows them)."""
    cells = code_cells(path)
    assert 8 <= len(cells) <= 15
    assert all(len(cell.source.splitlines()) <= 6 for cell in cells)
    assert not any(
        isinstance(node, ast.FunctionDef) for cell in cells for node in ast.walk(ast.parse(cell.source))
    )
    assert all(cell.execution_count for cell in cells)
    assert path.stat().st_size < 1_300_000


@pytest.mark.parametrize("path", PATHS[2:8], ids=lambda path: path.stem)
def test_controls_are_stored(path):
    """What a control shows is kept in the notebook, so that it works where no kernel runs."""
    notebook = nbformat.read(path, as_version=4)
    state = notebook.metadata["widgets"][STATE]["state"]
    shown = [
        output["data"][VIEW]["model_id"]
        for cell in code_cells(path)
        for output in cell.outputs
        if VIEW in output.get("data", {})
    ]
    assert shown
    for model in shown:
        menus, pictures = stored(state, model)
        assert len(menus) >= 1
        assert len(pictures) >= 2
        assert all(html.startswith("<figure") for html in pictures.values())


@pytest.mark.parametrize("path", [START, *PATHS], ids=lambda path: path.stem)
def test_one_parameters_cell_and_no_machine(path):
    """The parameters cell stands alone and no stored text names a folder of the author's machine."""
    cells = code_cells(path)
    assert [
        cell.source.split(" = ")[0] for cell in cells if "parameters" in cell.metadata.get("tags", [])
    ] == ["tables"]
    text = json.dumps(nbformat.read(path, as_version=4))
    assert "/home/" not in text
    assert "/work/" not in text


def test_settings_are_put_behind_their_names():
    """A value changes, what it means stays, and what the notebook does not ask is left out."""
    cell = nbformat.v4.new_code_cell(
        'tables = None  # where\nband = "6m"  # 6m, 2m\nmonth = 9', metadata={"tags": ["parameters"]}
    )
    notebook = nbformat.v4.new_notebook(cells=[cell, nbformat.v4.new_code_cell('band = "6m"')])
    set_settings(notebook, {"band": "2m", "tables": "../tables", "year": 2025})
    assert notebook.cells[0].source == "tables = '../tables'  # where\nband = '2m'  # 6m, 2m\nmonth = 9"
    assert notebook.cells[1].source == 'band = "6m"'


@pytest.mark.parametrize("path", PATHS, ids=lambda path: path.stem)
def test_every_setting_is_used(path):
    """A setting that no cell below reads would be a promise."""
    (first, *below) = code_cells(path)
    named = [line.split(" = ")[0] for line in first.source.splitlines()]
    read = {
        node.id for cell in below for node in ast.walk(ast.parse(cell.source)) if isinstance(node, ast.Name)
    }
    text = "\n".join(cell.source for cell in below)
    assert [name for name in named if name not in read and f"@{name}" not in text] == []
    kept = {
        node.id
        for cell in below
        for node in ast.walk(ast.parse(cell.source))
        if isinstance(node, ast.Name) and isinstance(node.ctx, ast.Store)
    }
    assert not kept & set(named)


def test_a_review_says_what_its_notebooks_are_set_to(season):
    """The main series, newest season and home of the demo; the far square is not home's."""
    said = settings(season)
    assert (said["band"], said["mechanism"], said["year"], said["home"]) == ("6m", "ES", 2025, "IN93")
    assert said["to"] != "IN93"


@pytest.mark.parametrize("path", notebook_paths(), ids=lambda path: path.stem)
def test_stored_notebooks_are_set_to_what_a_review_of_the_demo_says(season, path):
    """What lies in the repository and what `review` makes of the demo begin from the same settings."""
    (cell,) = [cell for cell in code_cells(path) if "parameters" in cell.metadata.get("tags", [])] or [None]
    lines = ast.parse(cell.source).body if cell else []
    stored_values = {line.targets[0].id: ast.literal_eval(line.value) for line in lines}
    said = settings(season)
    assert {name: value for name, value in stored_values.items() if name in said} == {
        name: said[name] for name in stored_values if name in said
    }


def test_whoever_stops_us_stops_the_notebooks():
    """A running kernel's process ends at once, and the stop is passed on."""
    kernel = subprocess.Popen([sys.executable, "-c", "import time; time.sleep(60)"])
    with pytest.raises(KeyboardInterrupt), stopped_with_us():
        raise KeyboardInterrupt
    assert kernel.wait(timeout=10) != 0
