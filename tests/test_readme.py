"""The README is a test: each of its command lines is one of ours and leaves what the README says."""

import os
import re
import shlex
import subprocess
import sys
from pathlib import Path

import pandas as pd
import pytest

from analysis import cli, shipped

README = (Path(__file__).parents[1] / "README.md").read_text(encoding="utf-8")
START = (shipped.NOTEBOOKS / "00_start.ipynb").read_text(encoding="utf-8")
LOG = "made by hand\n<EOH>\n" + "".join(
    f"<CALL:5>QA{k % 10}AA <QSO_DATE:8>202406{10 + k % 15} <TIME_ON:4>{9 + k % 9:02d}{k % 60:02d} <BAND:2>6m"
    f"<MODE:3>SSB <GRIDSQUARE:4>JN6{k % 10} <MY_GRIDSQUARE:4>IN93 <STATION_CALLSIGN:5>QB1BB <EOR>\n"
    for k in range(60)
)
SPOTS = "utc,call heard,locator heard,heard by,heard at,MHz,mode,snr\n" + "".join(
    f"2024-06-{10 + k % 15} {9 + k % 9:02d}:{k % 60:02d},QC{k % 7}CC,JN6{k % 10},QD{k % 3}DD,IN9{k % 4},50.313,FT8,-{k % 20}\n"
    for k in range(400)
)


def commands(text):
    """Every `seasonbook ...` in a text, as arguments; FILES stands for a log and a table of spots."""
    found = re.findall(
        r"(?:\bseasonbook|`(?=review --|--)) ?((?:review|gather|plan|lab|figures|article|card)\b[^`;&\"\\\n]*)",
        text,
    )
    return list(dict.fromkeys(one.strip().replace("FILES", "log.adi spots.csv") for one in found))


SAID = commands(README) + commands(START)


def test_the_readme_has_commands():
    """Each command of ours but the two that are only for printing stands in it."""
    assert {shlex.split(line)[0] for line in SAID} >= {"review", "gather", "plan", "lab", "figures"}


@pytest.mark.parametrize("line", SAID)
def test_every_command_line_is_understood(line):
    """By the command itself, without an error or an abbreviation."""
    arguments = shlex.split(line)
    if "--out" not in arguments and arguments[0] == "review":
        arguments += ["--out", "x"]  # told in passing
    options = vars(cli._parser().parse_args(arguments))
    assert all(word[2:].replace("-", "_") in options for word in arguments if word.startswith("--"))


@pytest.mark.parametrize(
    "command", ["review", "gather", "plan", "article", "figures", "card", "beacon", "lab"]
)
def test_every_command_explains_itself(command, capsys):
    """--help names every option with a word on it, and exits well."""
    with pytest.raises(SystemExit) as done:
        cli.main([command, "--help"])
    assert done.value.code == 0
    assert "--out" in capsys.readouterr().out or command == "gather"


@pytest.fixture(scope="module")
def life(tmp_path_factory):
    """A folder with a log, a table of spots and a home of its own, and what the README's steps said in it."""
    folder = tmp_path_factory.mktemp("life")
    (folder / "log.adi").write_text(LOG)
    (folder / "spots.csv").write_text(SPOTS)
    (folder / "home").mkdir()
    first = next(line for line in SAID if line.startswith("review log.adi"))
    others = [line for line in SAID if line.startswith(("plan", "figures", "gather", "article", "card"))]
    again = [line for line in others if line.startswith("gather")]  # safe to repeat
    return folder, [(line, run(line, folder)) for line in [first, *others, *again]]


def run(line, folder):
    """One command line in a process of its own, with a private home and without a network where that can be had."""
    apart = ["unshare", "--net", "sh", "-c", 'ip link set lo up && exec "$@"', "sh"]
    alone = (
        subprocess.run([*apart, "true"], capture_output=True, check=False).returncode
        if sys.platform == "linux"
        else 1
    )
    command = [*([] if alone else apart), sys.executable, "-m", "analysis.cli", *shlex.split(line)]
    home = {"HOME": str(folder / "home"), "PYTHONPATH": str(Path(cli.__file__).parents[1])}
    environment = {name: value for name, value in os.environ.items() if not name.startswith("XDG_")}
    return subprocess.run(
        command, cwd=folder, env=environment | home, capture_output=True, text=True, check=False
    )


def test_every_step_ends_well(life):
    """No step fails, and none speaks of a fault."""
    _, said = life
    assert [(line, done.stderr) for line, done in said if done.returncode] == []


def test_the_steps_leave_what_the_readme_says(life):
    """The page, the account, the plan's calendar and card, slides and a store."""
    folder, _ = life
    for name in (
        "my-season/review.html",
        "my-season/tables/account.csv",
        "my-season/tables/set_aside.csv",
        "my-season/notebooks/00_start.ipynb",
        "my-plan/plan.ics",
        "my-plan/card.pdf",
        "slides/captions.json",
        "my-store/manifest.json",
    ):
        assert (folder / name).stat().st_size > 0, name
    account = pd.read_csv(folder / "my-season" / "tables" / "account.csv")
    assert (account["rows_in"] == account[["kept", "set_aside", "duplicates"]].sum(axis=1)).all()


def test_nothing_is_written_elsewhere(life):
    """Beside --out, --store and the cache not one file is new: neither in the folder nor in the user's home."""
    folder, _ = life
    asked = {"log.adi", "spots.csv", "home", "my-season", "my-plan", "slides", "my-store"}
    asked |= {"article.docx", "card.pdf"}
    assert {path.name for path in folder.iterdir()} == asked
    files = [path.relative_to(folder / "home") for path in (folder / "home").rglob("*") if path.is_file()]
    assert {file.parts[:2] for file in files} <= {(".cache", "seasonbook"), ("Library", "Caches")}
