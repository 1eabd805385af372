"""What a long command is doing just now: a line that moves on a terminal, one every ten seconds elsewhere.

Any room may say what it begins (`stage`) and what of it is done (`add`); nothing is shown unless a command
asked for it (`shown`). A stage inside another takes the line until it ends.
"""

from __future__ import annotations

import shutil
import threading
import time
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from typing import TextIO, TypeVar

import psutil
from tqdm import tqdm

MOVING_S, STILL_S = 0.5, 10.0  # between lines, on a terminal and elsewhere (judgement; no number rests on it)
RATED_S = 1.0  # a rate of less time than this would jump (judgement; only what is shown)
Item = TypeVar("Item")


@dataclass(eq=False)
class Stage:
    """One stage under way: what, how much of it is done, and since when."""

    what: str
    total: int = 0  # 0: unknown
    unit: str = ""
    done: int = 0
    began: float = field(default_factory=time.monotonic)

    def line(self) -> str:
        """Stage, how much, how fast, how long still."""
        passed = time.monotonic() - self.began
        parts = [self.what]
        if self.unit and (self.done or self.total):
            parts.append(f"{self.done:,}{f' of {self.total:,}' if self.total else ''} {self.unit}")
        if self.done and passed >= RATED_S:
            rate = self.done / passed
            parts.append(f"{rate:,.0f} {self.unit}/s" if rate >= 1 else f"{1 / rate:,.0f} s each")
            if self.total:
                parts.append(f"{tqdm.format_interval((self.total - self.done) / rate)} left")
        return ", ".join(parts)


_stages: list[Stage] = []
_lock = threading.RLock()
_screen: _Screen | None = None


@contextmanager
def stage(what: str, *, total: int = 0, unit: str = "") -> Iterator[Stage]:
    """Say what is being done inside; `total` of `unit`, where that is known. Its `done` may be counted on."""
    one = Stage(what, total, unit)
    with _lock:
        _stages.append(one)
    try:
        yield one
    finally:
        with _lock:
            _stages.remove(one)
            if _screen and not _stages:
                _screen.wipe()


def add(n: int = 1) -> None:
    """Say that so much more of the present stage is done."""
    with _lock:
        if _stages:
            _stages[-1].done += n


def each(items: Iterable[Item], *, what: str, unit: str, total: int = 0) -> Iterator[Item]:
    """The same items, each counted when the next is asked for."""
    with stage(what, total=total, unit=unit) as one:
        for item in items:
            yield item
            one.done += 1


@contextmanager
def shown(stream: TextIO, *, quiet: bool = False) -> Iterator[None]:
    """Show on `stream` what is being done inside, unless it is to be quiet."""
    global _screen
    if quiet:
        yield
        return
    _screen = screen = _Screen(stream)
    screen.start()
    try:
        yield
    finally:
        screen.ended.set()
        screen.join()
        _screen = None


class _Screen(threading.Thread):
    """Writes the line again and again, so that it moves while one long call is at work."""

    def __init__(self, stream: TextIO) -> None:
        super().__init__(daemon=True, name="progress")
        self.stream, self.moving = stream, stream.isatty()
        self.began, self.ended, self.length = time.monotonic(), threading.Event(), 0

    def run(self) -> None:
        while not self.ended.wait(MOVING_S if self.moving else STILL_S):
            with _lock:
                self._write()
        self.wipe()

    def wipe(self) -> None:
        """Leave the terminal's line empty for whoever writes next."""
        with _lock:
            if self.length:
                self._put(f"\r{' ' * self.length}\r")
                self.length = 0

    def _write(self) -> None:
        if not _stages:
            return
        passed = tqdm.format_interval(time.monotonic() - self.began)
        held = tqdm.format_sizeof(psutil.Process().memory_info().rss, divisor=1000)
        line = f"{passed} {_stages[-1].line()}, {held}B of memory"
        if self.moving:
            line = line[: shutil.get_terminal_size().columns - 1]
            self._put(f"\r{line.ljust(self.length)}")
            self.length = len(line)
        else:
            self._put(line + "\n")

    def _put(self, text: str) -> None:
        try:
            self.stream.write(text)
            self.stream.flush()
        except (OSError, ValueError):  # nobody reads any more; the work goes on
            self.ended.set()
