"""Pictures to choose among: drawn once, stored with the notebook, whole on a page without a kernel."""

import ipywidgets
import nbformat
import pandas as pd
import pytest
from nbformat.v4 import new_code_cell, new_notebook, new_output

from analysis.show.charts.picture import words_only
from analysis.show.page import controls
from analysis.show.page.page import write_page

TABLE = pd.DataFrame(
    {"band": ["2m", "6m", "6m"], "mechanism": ["TR", "TR", "ES"], "season": [2023, 2024, 2023]}
)


def picture(name, text="Nothing <b>to</b> draw."):
    return words_only(name, text, title=f"About {name}")


def drawn(table, *, band="", mechanism=""):
    """A chart function that says what it was asked for."""
    return picture(f"{band}{mechanism}", text=f"{len(table)} rows")


def drawn_for(table, *, band, mechanism, path_type):
    return picture(f"{band}{mechanism}{path_type}")


def stored(choice):
    """Widget models as a notebook keeps them, and the one that the output shows."""
    data = choice._repr_mimebundle_()
    return ipywidgets.Widget.get_manager_state()["state"], data


def test_series_an_operator_chases_come_first():
    """One picture for each band and mechanism, sporadic E on 6 m in front."""
    choice = controls.by_series(drawn, TABLE, among=TABLE)
    assert list(choice.pictures) == [("sporadic E on 6 m",), ("tropo on 2 m",), ("tropo on 6 m",)]
    assert [one.name for one in choice.pictures.values()] == ["6mES", "2mTR", "6mTR"]


def test_series_told_apart_by_the_ground():
    """With a kind of path each series has as many pictures as there are kinds, at most six in all."""
    kinds = pd.DataFrame({"band": "2m", "mechanism": "TR", "path_type": ["land", "sea"]})
    choice = controls.by_series(drawn_for, kinds, among=kinds, kind="path_type")
    assert [one.name for one in choice.pictures.values()] == ["2mTRland", "2mTRsea"]
    assert list(choice.pictures)[1] == ("tropo over sea on 2 m",)
    many = pd.DataFrame({"band": [f"{n}m" for n in range(1, 9)], "mechanism": "ES", "path_type": "all"})
    assert len(controls.by_series(drawn, many, among=many).pictures) == 6


def test_values_in_the_order_a_reader_expects():
    """Bands from the longest wave, seasons from the latest, each with its own rows only."""
    bands = controls.by_value(drawn, TABLE, column="band")
    assert [(labels, one.caption) for labels, one in bands.pictures.items()] == [
        (("6 m",), "2 rows"),
        (("2 m",), "1 rows"),
    ]
    assert list(controls.by_value(drawn, TABLE, column="season").pictures) == [("2024",), ("2023",)]
    assert list(controls.by_band(drawn, TABLE, among=TABLE).pictures) == [("6 m",), ("2 m",)]


@pytest.mark.parametrize("among", [TABLE.head(0)])
def test_nothing_to_choose_is_one_picture(among):
    """Without any row the chart function still speaks, in words."""
    assert len(controls.by_series(drawn, among, among=among).pictures) == 1
    assert len(controls.by_band(drawn, among, among=among).pictures) == 1
    assert len(controls.by_value(drawn, among, column="season").pictures) == 1


def test_labels_must_fit_the_menus():
    """A label short of a word is a mistake of the caller."""
    with pytest.raises(ValueError, match="each picture needs one label for each"):
        controls.choose({"2023": picture("a")}, by=("band", "season"))
    with pytest.raises(ValueError, match="each picture needs"):
        controls.choose({}, by="band")


def test_stored_choice_can_be_read_back():
    """Two menus, the second steering a stack in each option of the first; what is missing says so."""
    choice = controls.choose(
        {("6 m", "2023"): picture("a"), ("6 m", "2024"): picture("b"), ("2 m", "2024"): picture("c")},
        by=("band", "season"),
    )
    state, data = stored(choice)
    menus, pictures = controls.stored(state, data[controls.VIEW]["model_id"])
    assert menus == ("Choose the band", "Choose the season")
    assert list(pictures) == [("6 m", "2023"), ("6 m", "2024"), ("2 m", "2023"), ("2 m", "2024")]
    assert 'alt="About b. Nothing &lt;b&gt;to&lt;/b&gt; draw."' in pictures["6 m", "2024"]
    assert pictures["2 m", "2023"] == controls.MISSING


def test_menu_is_linked_without_a_kernel():
    """The browser itself joins the menu's index to the stack's: both ends are stored."""
    state, data = stored(controls.choose({"a": picture("a"), "b": picture("b")}, by="band"))
    bar, stack = controls._children(state, data[controls.VIEW]["model_id"])
    (menu,) = controls._children(state, bar)
    links = [one["state"] for one in state.values() if one["model_name"] == "LinkModel"]
    assert {"source": [f"IPY_MODEL_{menu}", "index"], "target": [f"IPY_MODEL_{stack}", "selected_index"]} in [
        {end: link[end] for end in ("source", "target")} for link in links
    ]


def test_without_controls_the_first_picture_stands(tmp_path):
    """The output also holds a plain picture, and as text every choice's alt text."""
    _, data = stored(controls.choose({"a": picture("a"), "b": picture("b")}, by="band"))
    assert data["image/png"].startswith(b"\x89PNG")
    assert [line.split(":")[0] for line in data["text/plain"].splitlines()] == ["a", "b"]


def test_page_shows_every_choice(tmp_path):
    """On the page each picture stands under its label, its words escaped, ready for the menus."""
    state, data = stored(controls.choose({'a"<i>': picture("a"), "b": picture("b")}, by="band"))
    shown = {controls.VIEW: data[controls.VIEW], "text/plain": "Choice()"}
    cell = new_code_cell("x", outputs=[new_output("execute_result", data=shown)])
    notebook = new_notebook(cells=[cell])
    notebook.metadata["widgets"] = {controls.STATE: {"state": state}}
    nbformat.write(notebook, tmp_path / "01_open.ipynb")
    page = write_page([tmp_path / "01_open.ipynb"], out=tmp_path / "p.html", title="t").read_text("utf-8")
    assert page.count('<div class="option"') == 2
    assert page.count("<figcaption>Nothing &lt;b&gt;to&lt;/b&gt; draw.</figcaption>") == 2
    assert '<p class="picked">a&quot;&lt;i&gt;</p>' in page
    assert 'data-menus="[&quot;Choose the band&quot;]"' in page
