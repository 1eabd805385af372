"""One lock for every folder of ours: held by one process, and let go of by the system when that dies."""

from __future__ import annotations

import sys
from typing import BinaryIO


def hold(stream: BinaryIO, *, wait: bool) -> None:
    """Hold an open file until it is closed.

    Parameters
    ----------
    stream : binary file
        Open for writing.
    wait : bool
        Whether to wait until another process lets go of it.

    Raises
    ------
    OSError
        If another process holds it and nobody waits.
    """
    if sys.platform == "win32":
        import msvcrt

        stream.seek(0)
        msvcrt.locking(stream.fileno(), msvcrt.LK_LOCK if wait else msvcrt.LK_NBLCK, 1)
    else:
        import fcntl

        fcntl.flock(stream, fcntl.LOCK_EX | (0 if wait else fcntl.LOCK_NB))
