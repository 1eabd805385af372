"""Every number that a stage rests on, with where it comes from: CONSTANTS.md is made from the code.

The comment beside a constant, or right above it, is its certificate of birth: a source, "common practice, no
source", "from memory", what measured it, or "judgement".
"""

import ast
import csv
import io
import tokenize
from pathlib import Path

ROOT = Path(__file__).parents[1]
STAGES = ("physics", "gather", "tag", "find", "fit", "plan")
HEAD = """# Constants

Made from the code by `python -m tests.test_constants`: the numbers at the head of each module, with what stands
beside them. What moves when a number is a fifth off is what `python -m benchmarks.constants` saw in a small simulated
region: the largest changes at −20 % / at +20 %; blank where no such region would tell.

"""
MOVES = ROOT / "benchmarks" / "constants.csv"


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


def moves():
    """What moves, by module and name, as the benchmark left it."""
    with MOVES.open(encoding="utf-8", newline="") as file:
        return {(row["module"], row["name"]): f"{row['down']} / {row['up']}" for row in csv.DictReader(file)}


def table():
    """CONSTANTS.md."""
    moved = moves()
    rows = [
        f"| `{name}` | `{value}` | {where} | {told} | {moved.get((where.as_posix(), name), '')} |"
        for where, name, value, told in constants()
    ]
    head = [
        "| name | value | module | from, and why | what moves at −20 % / +20 % |",
        "|---|---|---|---|---|",
    ]
    return HEAD + "\n".join([*head, *rows]) + "\n"


def test_the_list_is_true():
    """CONSTANTS.md is what the code says."""
    assert (ROOT / "CONSTANTS.md").read_text(encoding="utf-8") == table(), (
        "run: python -m tests.test_constants"
    )


def test_no_number_says_nothing():
    """Every number has a word on where it is from."""
    assert not [(str(where), name) for where, name, _, told in constants() if not told]


def test_what_moves_is_told_of_numbers_that_are_there():
    """A constant that went, or was renamed, leaves no line behind."""
    assert moves().keys() <= {(where.as_posix(), name) for where, name, _, _ in constants()}


if __name__ == "__main__":
    (ROOT / "CONSTANTS.md").write_text(table(), encoding="utf-8")
