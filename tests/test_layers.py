"""The folder listing is the flow: each stage imports only from stages before it and from physics."""

import ast
from pathlib import Path

import pytest

PACKAGE = Path(__file__).parents[1] / "analysis"
ORDER = ["physics", "gather", "tag", "find", "fit", "plan", "show", "top"]
DRAWING = {"matplotlib", "cartopy"}
MODULES = sorted(path.relative_to(PACKAGE) for path in PACKAGE.rglob("*.py"))


def stage(path):
    """Folder a module lives in; modules beside the folders sit on top."""
    return path.parts[0] if len(path.parts) > 1 else "top"


def imported(path):
    """Every absolute module name that a file imports, wherever in the file it does so."""
    names = set()
    for node in ast.walk(ast.parse((PACKAGE / path).read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            names |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path}: relative import"
            names |= {f"{node.module}.{alias.name}" for alias in node.names}
    return names


@pytest.mark.parametrize("path", MODULES, ids=str)
def test_imports_go_one_way(path):
    """A stage never imports from a stage after it."""
    own = ORDER.index(stage(path))
    for name in imported(path):
        parts = name.split(".")
        if parts[0] == "analysis" and len(parts) > 2 and parts[1] in ORDER:
            assert ORDER.index(parts[1]) <= own, f"{path} imports {name}"
        elif parts[0] == "analysis" and len(parts) > 1 and parts[1] not in ("__version__", *ORDER):
            assert stage(path) == "top", f"{path} imports {name}"


@pytest.mark.parametrize("path", [path for path in MODULES if stage(path) != "show"], ids=str)
def test_only_show_draws(path):
    """Matplotlib and cartopy stay in one room."""
    assert not {name.split(".")[0] for name in imported(path)} & DRAWING


@pytest.mark.parametrize("path", [path for path in MODULES if stage(path) == "show"], ids=str)
def test_show_does_not_fit(path):
    """Figures draw finished tables; they estimate nothing."""
    assert "statsmodels" not in {name.split(".")[0] for name in imported(path)}
