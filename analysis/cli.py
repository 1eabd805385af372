"""The command line: one clear line for what a user can mend, a report file for what only we can."""

from __future__ import annotations

import argparse
import os
import subprocess
import sys
import tempfile
import traceback
from pathlib import Path

import analysis
from analysis.gather.problems import InputError

DONE, OUR_FAULT, BAD_INPUT = 0, 1, 2


def main(argv: list[str] | None = None) -> int:
    """Run one command; return 0 done, 2 the input cannot be used, 1 a fault of ours."""
    options = _parser().parse_args(argv)
    try:
        options.run(options)
    except InputError as problem:
        print(f"seasonbook: {problem}", file=sys.stderr)
        return BAD_INPUT
    except KeyboardInterrupt:
        print("seasonbook: stopped; nothing was left half-written", file=sys.stderr)
        return OUR_FAULT
    except Exception as fault:  # noqa: BLE001 - the last door: no traceback reaches a user
        report = _report(fault)
        print(
            f"seasonbook: a fault of ours ({type(fault).__name__}); your files are untouched. The details are in {report}",
            file=sys.stderr,
        )
        return OUR_FAULT
    return DONE


def _review(options) -> None:
    from analysis import review

    made = review.review(
        options.files,
        out=options.out,
        store=options.store,
        home=options.home,
        station=options.station,
        club=options.club,
    )
    print(f"The review is ready: open {made / 'review.html'}")


def _gather(options) -> None:
    from analysis import review

    gathered = review.gather(options.files, store=options.store, home=options.home, station=options.station)
    print(gathered.account.to_string(index=False))
    for note in gathered.notes.itertuples():
        print(f"{note.source}: {note.note}")


def _lab(options) -> None:
    from analysis import workbook

    folder = workbook.NOTEBOOKS if options.out is None else _finished(options.out) / "notebooks"
    subprocess.run([sys.executable, "-m", "jupyterlab", str(folder)], check=False)


def _finished(out: str) -> Path:
    if not (Path(out) / "notebooks").is_dir():
        raise InputError(
            f"{out}: no finished review found; make one with: seasonbook review FILES --home LOCATOR --out {out}"
        )
    return Path(out)


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="seasonbook", description="A season of VHF reports, turned into when the bands opened."
    )
    parser.add_argument("--version", action="version", version=f"seasonbook {analysis.__version__}")
    commands = parser.add_subparsers(required=True, metavar="COMMAND")

    review = commands.add_parser("review", help="the whole review of your files, or of the demo seasons")
    review.add_argument(
        "files",
        nargs="*",
        metavar="FILE",
        help="logs, spot tables, beacon lists, listening hours; none: the demo seasons",
    )
    _own(review)
    review.add_argument(
        "--store", default="", metavar="DIR", help="a season store to add the files to and to review"
    )
    review.add_argument("--club", default="our club", metavar="NAME", help="the name that heads the article")
    review.add_argument("--out", required=True, metavar="DIR", help="where the review is left")
    review.set_defaults(run=_review)

    gather = commands.add_parser("gather", help="add files to a season store; safe to repeat")
    gather.add_argument(
        "files", nargs="+", metavar="FILE", help="logs, spot tables, beacon lists, listening hours"
    )
    gather.add_argument(
        "--store", required=True, metavar="DIR", help="the season store, made if there is none"
    )
    _own(gather)
    gather.set_defaults(run=_gather)

    lab = commands.add_parser("lab", help="open the nine notebooks in JupyterLab")
    lab.add_argument("--out", metavar="DIR", help="a finished review; none: the demo seasons")
    lab.set_defaults(run=_lab)
    return parser


def _own(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--home", default="", metavar="LOCATOR", help="your own locator")
    parser.add_argument(
        "--station", default="", metavar="CALL", help="your own call sign, for logs that do not say it"
    )


def _report(fault: Exception) -> Path:
    handle, name = tempfile.mkstemp(prefix="seasonbook-fault-", suffix=".txt")
    with os.fdopen(handle, "w", encoding="utf-8") as file:
        file.write(f"seasonbook {analysis.__version__}, Python {sys.version}\n")
        file.writelines(traceback.format_exception(fault))
    return Path(name)


if __name__ == "__main__":
    sys.exit(main())
