"""Every number that a stage rests on, with where it comes from: CONSTANTS.md is made from the code.

The comment beside a constant, or right above it, is its certificate of birth: a source, "common practice, no
source", "from memory", what measured it, or "judgement".
"""

import ast
import io
import tokenize
from pathlib import Path

ROOT = Path(__file__).parents[1]
STAGES = ("physics", "gather", "tag", "find", "fit", "plan")
SILENT = 99  # constants without a word; may only become fewer
HEAD = """# Constants

Made from the code by `python -m tests.test_constants`: the numbers at the head of each module, with what stands
beside them. Where nothing stands, nothing is claimed.

"""


def constants():
    """Where, name, value and words of each numeric constant at the head of a module, in the order of the flow."""
    for stage in STAGES:
        for path in sorted((ROOT / "analysis" / stage).rglob("*.py")):
            source = path.read_text(encoding="utf-8")
            said = comments(source)
            for node in ast.parse(source).body:
                names = [
                    name.id
                    for name in ast.walk(node)
                    if isinstance(name, ast.Name) and isinstance(name.ctx, ast.Store)
                ]
                if (
                    isinstance(node, ast.Assign | ast.AnnAssign)
                    and names[0].isupper()
                    and numeric(node.value)
                ):
                    yield (
                        path.relative_to(ROOT / "analysis"),
                        ", ".join(names),
                        short(node.value),
                        words(node, said),
                    )


def numeric(value):
    """Whether a value is built of numbers."""
    return any(
        isinstance(part, ast.Constant) and type(part.value) in (int, float) for part in ast.walk(value)
    )


def short(value):
    """The value as code, cut where it is a table of its own."""
    text = ast.unparse(value).replace("|", "\\|")
    return text if len(text) <= 60 else f"{text[:57]}..."


def comments(source):
    """Comment of each line, and whether it has the line to itself."""
    tokens = tokenize.generate_tokens(io.StringIO(source).readline)
    return {
        token.start[0]: (token.string.lstrip("# "), token.line.lstrip().startswith("#"))
        for token in tokens
        if token.type == tokenize.COMMENT
    }


def words(node, said):
    """What stands beside a constant, else on the lines right above it."""
    beside = [said[line][0] for line in range(node.lineno, node.end_lineno + 1) if line in said]
    above, line = [], node.lineno - 1
    while not beside and said.get(line, ("", False))[1]:
        above.insert(0, said[line][0])
        line -= 1
    return " ".join(beside or above).replace("|", "\\|")


def table():
    """CONSTANTS.md."""
    rows = [f"| `{name}` | `{value}` | {where} | {told} |" for where, name, value, told in constants()]
    return HEAD + "\n".join(["| name | value | module | from, and why |", "|---|---|---|---|", *rows]) + "\n"


def test_the_list_is_true():
    """CONSTANTS.md is what the code says."""
    assert (ROOT / "CONSTANTS.md").read_text(encoding="utf-8") == table(), (
        "run: python -m tests.test_constants"
    )


def test_few_say_nothing():
    """Numbers without a word become fewer, never more; physics has none."""
    silent = [(str(where), name) for where, name, _, told in constants() if not told]
    assert len(silent) <= SILENT, silent
    assert not [one for one in silent if one[0].startswith("physics")]


if __name__ == "__main__":
    (ROOT / "CONSTANTS.md").write_text(table(), encoding="utf-8")
