"""What a long command tells while it works."""

import io
import subprocess
import sys
import time

from analysis import progress


class Terminal(io.StringIO):
    """Text that takes itself for a screen."""

    def isatty(self):
        return True


def test_a_terminal_sees_a_line_that_moves(monkeypatch):
    """From the first second, again and again on the same line, which is empty in the end."""
    monkeypatch.setattr(progress, "MOVING_S", 0.02)
    screen = Terminal()
    with progress.shown(screen), progress.stage("tagging", total=1000, unit="rows"):
        time.sleep(0.1)
        progress.add(250)
        time.sleep(0.1)
    said = screen.getvalue()
    assert "tagging, 250 of 1,000 rows" in said
    assert "of memory" in said
    assert "\n" not in said
    assert said.count("\r") > 5
    assert said.endswith(" \r")


def test_elsewhere_a_line_now_and_then(monkeypatch):
    """Whole lines, one every ten seconds: nothing of a command that is done sooner."""
    screen = io.StringIO()
    with progress.shown(screen), progress.stage("reading"):
        time.sleep(0.05)
    assert screen.getvalue() == ""
    monkeypatch.setattr(progress, "STILL_S", 0.02)
    with progress.shown(screen), progress.stage("reading"):
        time.sleep(0.1)
    lines = screen.getvalue().splitlines()
    assert len(lines) >= 2
    assert all("reading" in line for line in lines)
    assert "\r" not in screen.getvalue()


def test_quiet_is_quiet(monkeypatch):
    """Nothing at all, and what is counted breaks nothing."""
    monkeypatch.setattr(progress, "MOVING_S", 0.01)
    screen = Terminal()
    with progress.shown(screen, quiet=True), progress.stage("reading"):
        progress.add(5)
        time.sleep(0.05)
    assert screen.getvalue() == ""


def test_a_stage_says_rate_and_time_left():
    """Forty of a hundred in two seconds are twenty a second, and three seconds are left."""
    one = progress.Stage("curves", total=100, unit="series", done=40, began=time.monotonic() - 2)
    assert one.line() == "curves, 40 of 100 series, 20 series/s, 00:03 left"
    slow = progress.Stage("notebooks", total=10, unit="notebooks", done=2, began=time.monotonic() - 20)
    assert slow.line() == "notebooks, 2 of 10 notebooks, 10 s each, 01:20 left"


def test_an_inner_stage_takes_the_line_until_it_ends(monkeypatch):
    """Also when it fails."""
    monkeypatch.setattr(progress, "MOVING_S", 0.01)
    screen = Terminal()
    with progress.shown(screen), progress.stage("outer"):
        try:
            with progress.stage("inner"):
                time.sleep(0.05)
                raise ValueError
        except ValueError:
            screen.truncate(0)
            screen.seek(0)
        time.sleep(0.05)
    assert "outer" in screen.getvalue()
    assert "inner" not in screen.getvalue()


def test_linear_algebra_keeps_to_one_thread():
    """The package says so before numpy is there; what the user has set stays."""
    told = "import os, analysis, sys; print('numpy' in sys.modules, os.environ['OPENBLAS_NUM_THREADS'])"
    for given, found in (({}, "1"), ({"OPENBLAS_NUM_THREADS": "2"}, "2")):
        done = subprocess.run(
            [sys.executable, "-c", told],
            env={"PATH": "", "PYTHONPATH": ":".join(sys.path)} | given,
            capture_output=True,
            text=True,
            check=True,
        )
        assert done.stdout.split() == ["False", found]
