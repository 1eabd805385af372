"""The command line: one clear line for what a user can mend, a report file for what only we can."""

from __future__ import annotations

import argparse
import errno
import io
import os
import sys
import tempfile
import traceback
from importlib import import_module

import analysis
from analysis import commands, progress
from analysis.folders import cache_folder
from analysis.gather.problems import InputError

DONE, OUR_FAULT, BAD_INPUT = 0, 1, 2
NO_MEMORY = ("MemoryError", "can't start new thread", "failed to map segment", "Cannot allocate memory")


def main(argv: list[str] | None = None) -> int:
    """Run one command; return 0 done, 2 the input cannot be used, 1 a fault of ours."""
    options = _parser().parse_args(argv)
    # The list of fonts is kept with what else only saves time; no setting of the user's changes a picture.
    os.environ.setdefault("MPLCONFIGDIR", str(cache_folder() / "matplotlib"))
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):  # a name that the screen cannot show is no reason to stop
            stream.reconfigure(errors="backslashreplace")
    try:
        with progress.shown(sys.stderr, quiet=options.quiet):
            with progress.stage("starting"):  # the libraries take seconds to load
                import_module("analysis.review")
            options.run(options)
        sys.stdout.flush()
    except InputError as problem:
        print(f"seasonbook: {problem}", file=sys.stderr)
        return BAD_INPUT
    except BrokenPipeError:  # whoever read our words has enough; what was asked for is made by then
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
    except KeyboardInterrupt:
        print("seasonbook: stopped; nothing was left half-written", file=sys.stderr)
        return OUR_FAULT
    except Exception as fault:  # noqa: BLE001 - the last door: no traceback reaches a user
        said = _outside(fault)
        if not said:
            return _own_fault(fault)
        print(f"seasonbook: {said}", file=sys.stderr)
        return BAD_INPUT
    return DONE


def _outside(fault: BaseException) -> str:
    """What the machine refused and how to mend it; empty where the fault is ours."""
    chain = [fault]
    while before := chain[-1].__cause__ or chain[-1].__context__:
        chain.append(before)
    told = " ".join(str(one) for one in chain)
    if any(os.strerror(number) in told for number in (errno.ENOSPC, errno.EDQUOT)) or "disk is full" in told:
        where = next((f" at {one.filename}" for one in chain if getattr(one, "filename", None)), "")  # type: ignore[attr-defined]
        return f"no space is left{where}; free some and repeat the command; nothing was left half-written"
    if any(isinstance(one, MemoryError) for one in chain) or any(sign in told for sign in NO_MEMORY):
        return (
            "the memory does not suffice; close other programs or give fewer files, then repeat the command"
        )
    if isinstance(fault, OSError) and fault.filename:
        return f"{fault.filename}: {fault.strerror}; check the name and the rights"
    return ""


def _own_fault(fault: Exception) -> int:
    """Say in one line that the fault is ours, and leave the details in a file."""
    said = f"a fault of ours ({type(fault).__name__}); your files are untouched"
    try:
        handle, report = tempfile.mkstemp(prefix="seasonbook-fault-", suffix=".txt")
        with os.fdopen(handle, "w", encoding="utf-8") as file:
            file.write(f"seasonbook {analysis.__version__}, Python {sys.version}\n")
            file.writelines(traceback.format_exception(fault))
        said += f". The details are in {report}"
    except OSError as other:
        said += f". The details could not be written ({other.strerror})"
    print(f"seasonbook: {said}", file=sys.stderr)
    return OUR_FAULT


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="seasonbook", description="A season of VHF reports, turned into when the bands opened."
    )
    parser.add_argument("--version", action="version", version=f"seasonbook {analysis.__version__}")
    subparsers = parser.add_subparsers(required=True, metavar="COMMAND")
    for add in (
        _add_review,
        _add_gather,
        _add_plan,
        _add_article,
        _add_figures,
        _add_card,
        _add_beacon,
        _add_lab,
    ):
        add(subparsers)
    for command in subparsers.choices.values():
        command.add_argument("--quiet", action="store_true", help="do not tell what is being done meanwhile")
    return parser


def _add_review(subparsers) -> None:
    review = subparsers.add_parser("review", help="the whole review of your files, or of the demo seasons")
    review.add_argument(
        "files",
        nargs="*",
        metavar="FILE",
        help="logs, spot tables, beacon lists, listening hours; beside them noted forecasts, weather of the "
        "day, soundings, an ASCII grid of heights; none: the demo seasons",
    )
    _own(review)
    review.add_argument(
        "--store", default="", metavar="DIR", help="a season store to add the files to and to review"
    )
    review.add_argument("--club", default="", metavar="NAME", help="the name that heads the article")
    review.add_argument(
        "--zone",
        default="UTC",
        metavar="ZONE",
        help="your time zone, like Europe/Madrid, for hours beside UTC",
    )
    review.add_argument("--out", required=True, metavar="DIR", help="where the review is left")
    review.add_argument(
        "--anonymous",
        action="store_true",
        help="name nobody in it: invented call signs, locators of four characters",
    )
    review.set_defaults(run=commands.run_review)


def _add_gather(subparsers) -> None:
    gather = subparsers.add_parser("gather", help="add files to a season store; safe to repeat")
    gather.add_argument(
        "files", nargs="+", metavar="FILE", help="logs, spot tables, beacon lists, listening hours"
    )
    gather.add_argument(
        "--store", required=True, metavar="DIR", help="the season store, made if there is none"
    )
    _own(gather)
    gather.set_defaults(run=commands.run_gather)


def _add_plan(subparsers) -> None:
    plan = subparsers.add_parser("plan", help="next season's windows, hours, places and skeds for your dates")
    _of_a_review(plan)
    plan.add_argument("--out", required=True, metavar="DIR", help="where the plan is left")
    plan.add_argument("--days", type=int, default=10, help="days of leave (10)")
    plan.add_argument("--from", dest="earliest", metavar="DATE", help="earliest date, like 2026-06-01")
    plan.add_argument("--to", dest="latest", metavar="DATE", help="latest date")
    plan.add_argument("--weekdays", default="all", help="all, weekend, workdays, or like sat,sun")
    plan.add_argument(
        "--within",
        action="append",
        default=[],
        metavar="FILE",
        help="ICS or CSV of dates it must lie in, such as school holidays",
    )
    plan.add_argument(
        "--avoid", action="append", default=[], metavar="FILE", help="ICS or CSV of dates to avoid"
    )
    plan.add_argument("--country", default="", help="ISO code, for its public holidays")
    plan.add_argument("--region", default="", help="ISO code of a part of the country")
    plan.add_argument("--hours", default="0-24", help="when you can operate, local time, like 18-23:30")
    plan.add_argument("--zone", default="UTC", help="your time zone, like Europe/Madrid")
    plan.add_argument("--at-least", type=int, metavar="K", help="opening days that make a good window")
    plan.add_argument("--band", action="append", default=[], help="6m, 2m ...; may be repeated")
    plan.add_argument(
        "--toward", action="append", default=[], metavar="QUADRANT", help="north, east ...; may be repeated"
    )
    plan.add_argument(
        "--place", action="append", default=[], metavar="LOCATOR", help="a place to compare; up to ten"
    )
    plan.add_argument("--partner", default="", metavar="LOCATOR", help="the other end of a sked")
    plan.add_argument("--partner-zone", default="", help="the partner's time zone")
    plan.set_defaults(run=commands.run_plan)


def _add_article(subparsers) -> None:
    article = subparsers.add_parser("article", help="the newsletter draft of a review")
    article.add_argument("--review", required=True, metavar="DIR", help="a finished review")
    article.add_argument(
        "--out", required=True, metavar="FILE", help="a name that ends in .md, .html, .docx or .odt"
    )
    article.add_argument("--club", default="", metavar="NAME", help="the name that heads it")
    article.add_argument("--agreed", metavar="FILE", help="call signs whose holders agreed to be named")
    article.add_argument("--template", metavar="FILE", help="your own copy of the article's template")
    article.set_defaults(run=commands.run_article)


def _add_figures(subparsers) -> None:
    figures = subparsers.add_parser(
        "figures", help="every picture of a review, for print or for a club night"
    )
    _of_a_review(figures)
    figures.add_argument("--out", required=True, metavar="DIR", help="where the pictures are left")
    figures.add_argument(
        "--width", choices=("full", "column", "slide"), default="full", help="column: 85 mm; slide: 16:9"
    )
    figures.set_defaults(run=commands.run_figures)


def _add_card(subparsers) -> None:
    card = subparsers.add_parser("card", help="the one-page shack card of a review")
    _of_a_review(card)
    card.add_argument("--out", required=True, metavar="FILE", help="the PDF to write")
    card.add_argument("--portable", action="store_true", help="with the cautions for a trip")
    card.set_defaults(run=commands.run_card)


def _add_beacon(subparsers) -> None:
    beacon = subparsers.add_parser(
        "beacon", help="one beacon's record for its keeper: heard, far, likely off"
    )
    beacon.add_argument("call", metavar="CALL", help="its call sign, as in the reports")
    _of_a_review(beacon)
    beacon.add_argument(
        "--out",
        default="",
        metavar="FILE",
        help="a name that ends in .md, .html, .docx or .odt; none: on the screen",
    )
    beacon.set_defaults(run=commands.run_beacon)


def _add_lab(subparsers) -> None:
    lab = subparsers.add_parser("lab", help="open the nine notebooks in JupyterLab")
    lab.add_argument("--out", metavar="DIR", help="a finished review; none: the demo seasons")
    lab.set_defaults(run=commands.run_lab)


def _of_a_review(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--review", metavar="DIR", help="a finished review; none: the demo seasons")


def _own(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--home", default="", metavar="LOCATOR", help="your own locator")
    parser.add_argument(
        "--station", default="", metavar="CALL", help="your own call sign, for logs that do not say it"
    )


if __name__ == "__main__":
    sys.exit(main())
