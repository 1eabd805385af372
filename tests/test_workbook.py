"""The nine notebooks keep their form: a question, short cells, small stored outputs."""

import ast
import json

import nbformat
import pytest

from analysis.workbook import notebook_paths

PATHS = notebook_paths()


def code_cells(path):
    return [cell for cell in nbformat.read(path, as_version=4).cells if cell.cell_type == "code"]


def test_there_are_nine():
    """One notebook for each question."""
    assert [path.name[:3] for path in PATHS] == [f"0{n}_" for n in range(1, 10)]


@pytest.mark.parametrize("path", PATHS, ids=lambda path: path.stem)
def test_title_is_a_question(path):
    """The title asks, and the first output answers."""
    notebook = nbformat.read(path, as_version=4)
    assert notebook.cells[0].source.splitlines()[0].endswith("?")
    assert any("What this cannot show" in cell.source for cell in notebook.cells)


@pytest.mark.parametrize("path", PATHS, ids=lambda path: path.stem)
def test_cells_are_short_and_stored(path):
    """Eight to fifteen code cells of at most six lines, no function definitions, all executed, under 400 KB."""
    cells = code_cells(path)
    assert 8 <= len(cells) <= 15
    assert all(len(cell.source.splitlines()) <= 6 for cell in cells)
    assert not any(
        isinstance(node, ast.FunctionDef) for cell in cells for node in ast.walk(ast.parse(cell.source))
    )
    assert all(cell.execution_count for cell in cells)
    assert path.stat().st_size < 400_000


@pytest.mark.parametrize("path", PATHS, ids=lambda path: path.stem)
def test_one_parameters_cell_and_no_machine(path):
    """The parameters cell stands alone and no stored text names a folder of the author's machine."""
    cells = code_cells(path)
    assert [
        cell.source.split(" = ")[0] for cell in cells if "parameters" in cell.metadata.get("tags", [])
    ] == ["tables"]
    text = json.dumps(nbformat.read(path, as_version=4))
    assert "/home/" not in text
    assert "/work/" not in text
