"""The README's way with files nobody wrote for us: each alone, with and without a store, twice over.

python -m benchmarks.doors ../shared/real --whole 1

For every file: gathered into a store of its own, twice; reviewed from the file and from the store; the
tables saved and read back. The first `--whole` of them also go through the commands themselves (review
twice, plan, figures, card, article), each in a process of its own.
"""

from __future__ import annotations

import argparse
import subprocess
import sys
import tempfile
import traceback
from pathlib import Path

from analysis import review, tables
from analysis.gather.problems import InputError

HOME = "IN93"  # for files that do not say where they were made


def main() -> None:
    """One line per file: rows in, kept, the same from the store, and what was refused in one line."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--whole", type=int, default=0)
    asked = parser.parse_args()
    files = sorted(path for path in asked.folder.rglob("*") if path.is_file() and path.name != "README.md")
    faults = sum(_one(path) for path in files)
    print(f"{len(files)} files, {faults} with a fault of ours", flush=True)
    for path in files[: asked.whole]:
        print(f"{path.name}: {_commands(path)}", flush=True)


def _one(path: Path) -> bool:
    """Whether anything but one clear line stopped this file."""
    with tempfile.TemporaryDirectory() as place:
        try:
            said = _reviewed(path, Path(place))
        except InputError as problem:
            said = f"refused: {problem}"
        except Exception:  # noqa: BLE001 - the fault is what is counted
            print(traceback.format_exc(), flush=True)
            return True
        print(f"{path.name}: {said}", flush=True)
    return False


def _reviewed(path: Path, place: Path) -> str:
    alone = review.gather([path], home=HOME)
    first = review.gather([path], store=str(place / "store"), home=HOME)
    again = review.gather([path], store=str(place / "store"), home=HOME)
    assert first.account.equals(again.account)
    assert first.account.equals(alone.account)
    account = first.account.drop(columns="source").sum()
    assert account["rows_in"] == account[["kept", "set_aside", "duplicates"]].sum()
    for n, gathered in enumerate((alone, again)):
        tables.save(review.analyse(gathered, owner=review.Owner(home=HOME)), place / str(n))
    one, other = (tables.load(place / str(n)) for n in range(2))
    assert one.openings.equals(other.openings)
    return (
        f"{account['rows_in']} rows in, {account['kept']} kept, {len(one.openings)} openings, twice the same"
    )


def _commands(path: Path) -> str:
    with tempfile.TemporaryDirectory() as place:
        made = ["--review", f"{place}/review"]
        lines = [
            *[["review", path, "--home", HOME, "--out", f"{place}/review"]] * 2,
            ["plan", *made, "--out", f"{place}/plan"],
            ["figures", *made, "--out", f"{place}/slides", "--width", "slide"],
            ["card", *made, "--out", f"{place}/card.pdf"],
            ["article", *made, "--out", f"{place}/article.odt"],
        ]
        done = [
            subprocess.run([sys.executable, "-m", "analysis.cli", *line], check=False, capture_output=True)
            for line in lines
        ]
        return ", ".join(f"{line[0]} {one.returncode}" for line, one in zip(lines, done, strict=True))


if __name__ == "__main__":
    main()
