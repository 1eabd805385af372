"""Promises the repository makes about itself."""

import ast
import re
import subprocess
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
TEXT = {".py", ".md", ".toml", ".lock", ".cff", ".cfg", ".j2", ".txt", ".csv", ".ipynb", ""}


def tracked():
    listed = subprocess.run(["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=False)
    if listed.returncode:
        pytest.skip("not a git checkout")
    return [ROOT / name for name in listed.stdout.splitlines() if (ROOT / name).is_file()]


def test_lock_names_no_host():
    """Locked versions carry no address of any registry, no hash, and a marker where platforms differ."""
    lock = (ROOT / "requirements.lock").read_text(encoding="utf-8")
    assert not re.search(r"https?:|file:|--hash|--index|@", lock)
    assert all("==" in line for line in lock.splitlines() if line)


def test_every_dependency_is_locked():
    """Each direct dependency has a locked version."""
    project = (ROOT / "pyproject.toml").read_text(encoding="utf-8")
    named = re.findall(r'^    "([a-z0-9-]+)>=', project, flags=re.MULTILINE)
    locked = re.findall(
        r"^([a-z0-9-]+)==", (ROOT / "requirements.lock").read_text(encoding="utf-8"), flags=re.MULTILINE
    )
    assert named
    assert set(named) <= set(locked)


def test_repository_is_small():
    """Under 40 MB, of which the demo under 15 MB."""
    sizes = {path: path.stat().st_size for path in tracked()}
    assert sum(sizes.values()) < 40e6
    assert sum(size for path, size in sizes.items() if "demo" in path.parts) < 15e6


def test_readme_commands_are_one_line_each():
    """The two commands stand where the CI script looks for them."""
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    for mark, last in (("review", "seasonbook review"), ("tests", "pytest")):
        block = re.search(rf"<!-- {mark} -->\n```\n(python3 -m venv .*)\n```", readme)
        assert block, mark
        assert last in block[1]


def test_readme_links_lead_somewhere():
    """Every relative link and picture of the README exists."""
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    for target in re.findall(r"\]\(([^)#]+)\)", readme):
        assert (ROOT / target).exists(), target


def test_what_is_marked_outside_names_a_source():
    """A published source stands in each test marked `outside`; a closed form of ours is marked `definition`."""
    own = re.compile(r"# *(definition:|common practice)", flags=re.IGNORECASE)
    for path in sorted((ROOT / "tests").rglob("test_*.py")):
        source = path.read_text(encoding="utf-8")
        for node in ast.walk(ast.parse(source)):
            if isinstance(node, ast.FunctionDef) and node.decorator_list:
                marks = " ".join(map(ast.unparse, node.decorator_list))
                first = min(one.lineno for one in node.decorator_list) - 2
                said = [
                    line.strip()
                    for line in source.splitlines()[first : node.end_lineno]
                    if line.strip().startswith("#")
                ]
                if "mark.outside" in marks:
                    assert said, f"{path}: {node.name} names no source"
                    assert not any(own.match(line) for line in said), f"{path}: {node.name}"
                if "mark.definition" in marks:
                    assert said, f"{path}: {node.name} states no closed form"
