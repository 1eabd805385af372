"""The folder listing is the flow: each stage imports only from stages before it and from physics."""

import ast
from pathlib import Path

import pytest

PACKAGE = Path(__file__).parents[1] / "analysis"
ORDER = ["physics", "gather", "tag", "find", "fit", "plan", "show", "top"]
ROOMS = {  # rooms inside a stage, in the order in which they may import; modules beside them sit on top
    "gather": ["cells", "reading", "columns", "rows", "joining", "evidence"],
    "show": ["wording", "charts", "maps", "papers", "page"],
}
MOST_MODULES = 15
MOST_ARGUMENTS = 7
MEDIAN_LINES, MOST_LINES = 200, 350  # of a module
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
        elif (
            parts[0] == "analysis" and len(parts) > 1 and parts[1] not in ("__version__", "progress", *ORDER)
        ):
            assert stage(path) == "top", f"{path} imports {name}"


@pytest.mark.parametrize("path", [path for path in MODULES if stage(path) != "show"], ids=str)
def test_only_show_draws(path):
    """Matplotlib and cartopy stay in one room."""
    assert not {name.split(".")[0] for name in imported(path)} & DRAWING


@pytest.mark.parametrize("path", [path for path in MODULES if stage(path) == "show"], ids=str)
def test_show_does_not_fit(path):
    """Figures draw finished tables; they estimate nothing."""
    assert "statsmodels" not in {name.split(".")[0] for name in imported(path)}


@pytest.mark.parametrize("stage_name", ROOMS)
def test_rooms_import_one_way(stage_name):
    """Inside a stage a room imports from itself and from rooms before it."""
    rooms = ROOMS[stage_name]
    for path in MODULES:
        if stage(path) != stage_name or len(path.parts) < 3:
            continue
        own = rooms.index(path.parts[1])
        for name in imported(path):
            parts = name.split(".")
            if parts[:2] == ["analysis", stage_name] and parts[2] in rooms:
                assert rooms.index(parts[2]) <= own, f"{path} imports {name}"


def test_no_room_is_crowded():
    """A folder listing can be taken in at a glance."""
    for folder in {(PACKAGE / path).parent for path in MODULES}:
        assert len(list(folder.glob("*.py"))) <= MOST_MODULES, folder


@pytest.mark.parametrize("path", MODULES, ids=str)
def test_no_function_takes_too_much(path):
    """What needs more than seven arguments is two functions, or some of them are one thing with a name."""
    for node in ast.walk(ast.parse((PACKAGE / path).read_text(encoding="utf-8"))):
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            given = node.args.posonlyargs + node.args.args + node.args.kwonlyargs
            count = len(given) + bool(node.args.vararg) + bool(node.args.kwarg)
            assert count <= MOST_ARGUMENTS, f"{path}: {node.name} takes {count}"


def test_modules_can_be_read_at_one_sitting():
    """Half of the modules have two hundred lines at most, and none is a book."""
    lines = {path: len((PACKAGE / path).read_text(encoding="utf-8").splitlines()) for path in MODULES}
    assert sorted(lines.values())[len(lines) // 2] <= MEDIAN_LINES
    assert max(lines.values()) <= MOST_LINES, max(lines, key=lambda path: lines[path])


def test_the_tree_for_contributors_is_true():
    """DEVELOPERS.md names every folder and module of the package with what its first line says."""
    text = (PACKAGE.parent / "DEVELOPERS.md").read_text(encoding="utf-8")
    assert tree() in text, "run: python -m tests.test_layers"


def tree():
    """The package as a listing in the order of the flow, each with the first line of its docstring."""
    lines = []
    for path in sorted(MODULES, key=_in_flow):
        first = (ast.get_docstring(ast.parse((PACKAGE / path).read_text(encoding="utf-8"))) or "").split(
            "\n"
        )[0]
        folder = path.name == "__init__.py"
        name = f"{('analysis', *path.parts)[-2]}/" if folder else path.name
        depth = len(path.parts) - folder
        lines.append(f"{'    ' * depth}{name}".ljust(32) + first)
    return "\n".join(lines)


def _in_flow(path):
    """Stages and rooms as data meets them; a folder's own modules before its rooms."""
    rooms = ROOMS.get(stage(path), [])
    room = path.parts[1] if len(path.parts) > 2 else ""
    number = rooms.index(room) + 1 if room in rooms else bool(room)
    top = len(path.parts) == 1
    deeper = path.parts[2:-1]
    return (not top, ORDER.index(stage(path)), number, room, deeper, path.name != "__init__.py", path.name)


if __name__ == "__main__":
    guide = PACKAGE.parent / "DEVELOPERS.md"
    before, fence, rest = guide.read_text(encoding="utf-8").partition("<!-- tree -->\n```\n")
    guide.write_text(before + fence + tree() + "\n```" + rest.partition("\n```")[2], encoding="utf-8")
