"""The command ``pull-once report``: a case of a file or of the store, written as PDF or HTML."""

import argparse
from collections.abc import Callable
from datetime import date
from pathlib import Path

from diagnose.assess import assess
from diagnose.case_file import read_case
from diagnose.errors import PullOnceError
from diagnose.planning.advice import advise
from diagnose.report.file import write_report
from diagnose.report.gather import program_version, report_of
from diagnose.report.page import report_html
from diagnose.report.paper import PAPERS, Paper
from diagnose.report.record import EDITIONS, Photograph, Report
from diagnose.report.stored import Stored, stored_case
from diagnose.report.told import spoken_day
from knowledge.load import load_base
from knowledge.model import KnowledgeBase

_CASE_ENDINGS = {".yaml", ".yml"}
_PAGE_ENDINGS = {".html", ".htm"}

Pdf = Callable[[Report, Paper], bytes]


def add_report_arguments(command: argparse.ArgumentParser) -> None:
    """Add what the command asks for."""
    command.add_argument(
        "case",
        metavar="CASE",
        help="a case file, or words that find one case in the store; its photographs come along",
    )
    command.add_argument("out", type=Path, metavar="OUT", help="OUT.pdf or OUT.html")
    command.add_argument(
        "--edition",
        choices=EDITIONS,
        default="job",
        help="for the customer or the kit's supplier, or for the job folder (everything)",
    )
    command.add_argument("--paper", choices=PAPERS, default="a4", help="what it is printed on")
    command.add_argument("--hours", action="store_true", help="tell the customer the hours, too")


def run_report(arguments: argparse.Namespace) -> int:
    """Write a report.

    Parameters
    ----------
    arguments : Namespace
        What the command was asked. ``pdf`` puts a report on paper and is None where nothing can;
        ``store`` gives the URL of the store and is None for the usual one.

    Raises
    ------
    PullOnceError
        If there is no such case, or the report can't be made or written.
    """
    out, pdf = arguments.out, arguments.pdf
    kind = out.suffix.lower()
    if kind not in {*_PAGE_ENDINGS, ".pdf"}:
        raise PullOnceError(f"{out.name} is no name for a report.", "End it in .pdf or in .html.")
    if kind == ".pdf" and pdf is None:
        raise PullOnceError(
            "A PDF needs the part of the program that has the window.",
            "Run 'pull-once report', or name a file that ends in .html.",
        )
    base = load_base(*arguments.over)
    told = _told(arguments.case, base, arguments.store)
    found = assess(base, told.case)
    report = report_of(
        found,
        advise(found) if told.case.found is None else None,
        edition=arguments.edition,
        hours=arguments.hours or None,
        made=spoken_day(date.today()),
        photographs=told.photographs,
        conflicts=told.conflicts,
        program=program_version(),
    )
    paper = arguments.paper
    content = pdf(report, paper) if kind == ".pdf" else report_html(report, paper).encode()
    write_report(out, content)
    print(f"The report is in {out}.")
    return 0


def _told(named: str, base: KnowledgeBase, store: Callable[[], str] | None) -> Stored:
    """Read a case with its photographs: of a file, else of the store."""
    path = Path(named)
    if path.suffix.lower() in _CASE_ENDINGS or path.exists():
        read = read_case(path, base)
        photographs = (Photograph(p.name, p.caption, p.data) for p in read.photographs)
        return Stored(read.case, tuple(photographs))
    return stored_case(_url() if store is None else store(), named)


def _url() -> str:
    from diagnose.records.store import default_url  # SQLAlchemy only where it is needed

    return default_url()
