"""What comes along with the code, in a checkout beside the package and in an installed package inside it."""

from __future__ import annotations

from pathlib import Path

PACKAGE = Path(__file__).parent
INSTALLED = (PACKAGE / "notebooks").is_dir()  # the build put them there; a checkout has them one folder up
_BESIDE = PACKAGE if INSTALLED else PACKAGE.parent
NOTEBOOKS = _BESIDE / "notebooks"
DEMO = _BESIDE / "data" / "demo"


def demo_files() -> list[Path]:
    """The files of the invented demo season set."""
    return sorted(path for path in DEMO.iterdir() if path.name.endswith((".adi", ".csv", ".csv.gz")))


def demo_evidence() -> list[Path]:
    """What the invented club knows beside its reports: forecasts, weather, soundings, heights, two neighbours' reports."""
    return sorted(path for path in (DEMO / "evidence").glob("*") if path.is_file())


def notebook_paths() -> list[Path]:
    """The start page and the question notebooks in reading order."""
    return sorted(NOTEBOOKS.glob("0*.ipynb"))


def source_files() -> list[Path]:
    """Every module of the package, without the scripts that made the demo."""
    return sorted(path for path in PACKAGE.rglob("*.py") if not path.is_relative_to(DEMO))
