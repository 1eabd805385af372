"""What a notebook shows, in a form that two runs can be held against one another."""

import re

import nbformat

MOMENT = re.compile(r"20\d\d-\d\d-\d\dT\d\d:\d\d:\d\d")
UNLIKE = {"image/png", "application/vnd.jupyter.widget-view+json"}  # pixels and names of controls


def shown(path):
    """The outputs of each code cell of a notebook: their words and tables, without pixels and moments."""
    cells = [cell for cell in nbformat.read(path, as_version=4).cells if cell.cell_type == "code"]
    return [[_said(output) for output in cell.outputs] for cell in cells]


def _said(output):
    parts = {"text": output.text} if output.output_type == "stream" else output.get("data", {})
    return {kind: MOMENT.sub("MOMENT", str(words)) for kind, words in parts.items() if kind not in UNLIKE}
