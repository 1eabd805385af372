"""Pictures to choose among by menus: the browser swaps them by itself, no kernel is asked.

Every picture is drawn once and kept in the notebook, so a stored notebook and the printed page hold them all.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass

import ipywidgets
import pandas as pd

from analysis.show.charts.picture import Picture
from analysis.show.gallery import MOST, SERIES, pairs
from analysis.show.page.safe_html import figure
from analysis.show.wording import words

VIEW = "application/vnd.jupyter.widget-view+json"
STATE = "application/vnd.jupyter.widget-state+json"
MODEL = "IPY_MODEL_"  # how one stored model names another
FALLBACK_DPI = 72
COLOURS = 32  # a notebook holds many pictures; the eye sees no difference from 256
MISSING = "<p>Nothing was drawn for this choice.</p>"


@dataclass(frozen=True)
class Choice:
    """Pictures under their labels, one label for each menu; a notebook shows it as its last expression."""

    menus: tuple[str, ...]
    pictures: dict[tuple[str, ...], Picture]

    def _repr_mimebundle_(self, include=None, exclude=None) -> dict[str, object]:
        # Where controls cannot be shown, the first picture stands for all; the text names each of them.
        first = next(iter(self.pictures.values()))
        alts = [f"{' · '.join(labels)}: {picture.alt}" for labels, picture in self.pictures.items()]
        return {
            VIEW: _view(self),
            "image/png": first.png(dpi=FALLBACK_DPI, colours=COLOURS),
            "text/plain": "\n".join(alts),
        }


def choose(pictures: Mapping, *, by: str | tuple[str, ...]) -> Choice:
    """Pictures with a menu to choose by, or several menus.

    Parameters
    ----------
    pictures : dict
        Label to `Picture`, the one to show first in front; with several menus the label is a tuple with
        one word for each.
    by : str or tuple of str
        Name of each menu, such as "season".

    Raises
    ------
    ValueError
        If there is no picture, or a label does not fit the menus.
    """
    menus = (by,) if isinstance(by, str) else tuple(by)
    labelled = {(key,) if isinstance(key, str) else tuple(key): one for key, one in pictures.items()}
    if not labelled or {len(key) for key in labelled} != {len(menus)}:
        raise ValueError(f"each picture needs one label for each of {menus}, got {list(pictures)}")
    return Choice(menus, labelled)


def by_series(
    draw: Callable[..., Picture], *tables: pd.DataFrame, among: pd.DataFrame, kind: str = "", **options
) -> Choice:
    """One picture for each band and mechanism, with a menu to choose by.

    Parameters
    ----------
    draw : callable
        A chart or map function that takes `tables`, then `band`, `mechanism` and `options` by name.
    among : DataFrame
        Its distinct `band mechanism` pairs are the choices, six at most, in front those an operator chases.
    kind : str, optional
        Column of `among`, "path_type" or "direction", by which the choices are told further apart; it is
        given to `draw` by name, too.
    """
    asked = [
        {"band": band, "mechanism": mechanism} | ({kind: one} if kind else {})
        for band, mechanism in pairs(among) or SERIES[:1]
        for one in (_kinds(among, band, mechanism, kind) if kind else [""])
    ]
    return choose(
        {
            words.series(
                band_name=one["band"], mechanism=one["mechanism"], path_type=one.get(kind, "all")
            ): draw(*tables, **one, **options)
            for one in asked[:MOST]
        },
        by="series",
    )


def _kinds(among: pd.DataFrame, band: str, mechanism: str, kind: str) -> list[str]:
    rows = among[(among["band"].astype(str) == band) & (among["mechanism"].astype(str) == mechanism)]
    return list(rows[kind].astype(str).unique()) or ["all"]


def by_band(draw: Callable[..., Picture], *tables: pd.DataFrame, among: pd.DataFrame, **options) -> Choice:
    """One picture for each band of `among`, the longest wave first; as `by_series` without the mechanism."""
    bands = words.bands(among["band"].unique()) or [SERIES[0][0]]
    return choose({words.band(name): draw(*tables, band=name, **options) for name in bands}, by="band")


def by_value(draw: Callable[..., Picture], table: pd.DataFrame, *more, column: str, **options) -> Choice:
    """One picture for each value of a column, with a menu to choose by.

    Parameters
    ----------
    draw : callable
        A chart or map function; gets the rows of one value, then `more`, and `options` by name.
    table : DataFrame
        Rows to share out.
    column : str
        "band", from the longest wave on, or "season", from the latest on, or any other.
    """
    values = table[column].dropna().unique()
    ordered = words.bands(values) if column == "band" else sorted(values, reverse=column == "season")
    return choose(
        {
            words.band(value) if column == "band" else str(value): draw(
                table[table[column] == value], *more, **options
            )
            for value in ordered
        }
        or {"all": draw(table, *more, **options)},
        by=column.replace("_", " "),
    )


def stored(state: Mapping[str, Mapping], model: str) -> tuple[tuple[str, ...], dict[tuple[str, ...], str]]:
    """Menus of a stored choice, and the HTML of each picture under its labels.

    Parameters
    ----------
    state : dict
        Models by their id, as a notebook keeps them.
    model : str
        The model that an output shows.

    Raises
    ------
    KeyError
        If `model` is not one of ours, or was not stored.
    """
    bar, stack = _children(state, model)
    menus = _children(state, bar)
    lists = [list(state[menu]["state"]["_options_labels"]) for menu in menus]
    names = tuple(state[menu]["state"]["description"] for menu in menus)
    return names, dict(_leaves(state, stack, lists, ()))


def _children(state: Mapping[str, Mapping], model: str) -> list[str]:
    return [child.removeprefix(MODEL) for child in state[model]["state"]["children"]]


def _leaves(state, model: str, lists: list[list[str]], chosen: tuple[str, ...]) -> Iterator:
    """Labels and HTML of every picture below a stored stack."""
    if len(chosen) == len(lists):
        yield chosen, state[model]["state"]["value"]
        return
    for label, child in zip(lists[len(chosen)], _children(state, model), strict=True):
        yield from _leaves(state, child, lists, (*chosen, label))


def _view(choice: Choice) -> dict[str, object]:
    """Menus over a stack of pictures, linked in the browser; the reference under which a notebook keeps them."""
    lists = [
        list(dict.fromkeys(labels[place] for labels in choice.pictures)) for place in range(len(choice.menus))
    ]
    fit = {"description_width": "initial"}
    menus = [
        ipywidgets.Dropdown(
            options=labels,
            index=0,
            description=f"Choose the {name}",
            style=fit,
            layout={"width": "auto", "max_width": "100%"},
        )
        for name, labels in zip(choice.menus, lists, strict=True)
    ]
    stack = _stack(choice, menus, lists, ())
    bar = ipywidgets.Box(menus, layout={"flex_flow": "row wrap"})
    return ipywidgets.VBox([bar, stack], layout={"max_width": "100%"}).get_view_spec()


def _stack(choice: Choice, menus: list, lists: list[list[str]], chosen: tuple[str, ...]):
    """The pictures under the labels chosen so far: one picture, or a stack steered by the next menu."""
    depth = len(chosen)
    if depth == len(menus):
        picture = choice.pictures.get(chosen)
        return ipywidgets.HTML(_html(picture) if picture else MISSING, layout={"max_width": "100%"})
    children = [_stack(choice, menus, lists, (*chosen, label)) for label in lists[depth]]
    stack = ipywidgets.Stack(children, selected_index=0, layout={"max_width": "100%"})
    ipywidgets.jslink((menus[depth], "index"), (stack, "selected_index"))
    return stack


def _html(picture: Picture) -> str:
    return figure(picture.png(colours=COLOURS), alt=picture.alt, caption=picture.caption)
