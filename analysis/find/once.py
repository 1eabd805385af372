"""What several tables of one review ask of the same spots is worked out once."""

from __future__ import annotations

import functools
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any, ParamSpec, TypeVar, cast

import pandas as pd

Given = ParamSpec("Given")
Table = TypeVar("Table", pd.DataFrame, pd.Series)

_known: dict[Any, tuple[Any, Any]] | None = None


@contextmanager
def remembering() -> Iterator[None]:
    """Inside, functions marked `once` remember what they gave for the very same tables; after it all is forgotten.

    Tables are told apart by identity, not by content, so none may be changed in place inside.
    """
    global _known
    before, _known = _known, {} if _known is None else _known
    try:
        yield
    finally:
        _known = before


def once(function: Callable[Given, Table]) -> Callable[Given, Table]:
    """A function of tables and plain words or numbers that need not be called twice with the same ones."""

    @functools.wraps(function)
    def asked(*args: Given.args, **named: Given.kwargs) -> Table:
        if _known is None:
            return function(*args, **named)
        given: list[Any] = [*args, *(part for pair in sorted(named.items()) for part in pair)]
        key = (function, *(id(one) if isinstance(one, pd.DataFrame | pd.Series) else one for one in given))
        if key not in _known:
            _known[key] = given, function(*args, **named)  # what is held keeps its identity
        return cast(Table, _known[key][1].copy(deep=False))

    return asked
