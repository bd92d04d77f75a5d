"""The command line: a whole case without a window.

Exit status: 0 done, 1 a known error (one sentence and the next step), 2 wrong usage, 3 a bug,
130 broken off by the user.
"""

import argparse
import io
import json
import sys
from collections.abc import Callable, Iterable, Sequence
from dataclasses import asdict
from pathlib import Path
from typing import Any

from diagnose.advice_aloud import advice_lines, found_lines
from diagnose.apart import pairs
from diagnose.apart_lint import apart_issues
from diagnose.apart_report import (
    cause_named,
    neighbour_lines,
    neighbours_json,
    summary_json,
    summary_lines,
)
from diagnose.assess import Assessment, assess
from diagnose.calculators import add_gauge_parser
from diagnose.case import spent
from diagnose.case_file import read_case_file
from diagnose.errors import PullOnceError
from diagnose.evaluate import CaseScore, Scores, evaluate, summarise
from diagnose.forecasts import Forecast, forecasts
from diagnose.handbook import base_lines, handbook, write_handbook
from diagnose.kit_sheet import name_of
from diagnose.planning.advice import advise
from diagnose.planning.record import Advice
from diagnose.readings import reading_key
from diagnose.report.command import Pdf, add_report_arguments, run_report
from diagnose.sentences import (
    advice_reason,
    chance_words,
    left_out_line,
    look_again,
    prediction,
    read_measurements,
    read_with,
    statement,
)
from diagnose.shift_lint import shift_issues
from diagnose.system import clashes
from knowledge.lint import lint
from knowledge.load import KnowledgeError, load_base
from knowledge.schema import knowledge_schema

_SHOWN_CAUSES = 10
_SHOWN_FORECASTS = 4

Lines = Iterable[str]


def main(
    argv: Sequence[str] | None = None,
    *,
    pdf: Pdf | None = None,
    store: Callable[[], str] | None = None,
) -> int:
    """Run one command.

    Parameters
    ----------
    argv : sequence of str, optional
        The words after the program's name; those of the process if left out.
    pdf : callable, optional
        Puts a report on paper, which the engine by itself can't.
    store : callable, optional
        Gives the URL of the store of cases; that of `diagnose.records.default_url` if left out.

    Returns
    -------
    int
        The exit status.
    """
    arguments = _parser().parse_args(argv)
    arguments.pdf, arguments.store = pdf, store
    command: Callable[[argparse.Namespace], int] = arguments.command
    if isinstance(sys.stdout, io.TextIOWrapper):
        sys.stdout.reconfigure(errors="replace")  # a poor terminal gets a ? for what it can't show
    try:
        status = command(arguments)
        sys.stdout.flush()
        return status
    except PullOnceError as error:
        print(error, file=sys.stderr)
    except KnowledgeError as error:
        print(error, file=sys.stderr)
        count = len(error.problems)
        print(f"The knowledge can't be used: {count} to mend, listed above.", file=sys.stderr)
    except BrokenPipeError:
        sys.stderr.close()
    except OSError as error:
        print(f"The system refused: {error}. Free the disc or check the path.", file=sys.stderr)
    except KeyboardInterrupt:
        return 130
    except Exception:  # noqa: BLE001 - the last resort: a bug is reported, never swallowed
        _report_bug()
        return 3
    return 1


def _report_bug() -> None:
    import traceback  # only when it is needed

    traceback.print_exc()
    print(
        "This is a fault of the program, not yours. No file was changed. "
        "Please report it with the lines above.",
        file=sys.stderr,
    )


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="pull-once",
        description="Find out why a freshly installed clutch came back with a complaint. "
        "Without a command, the window opens.",
    )
    commands = parser.add_subparsers(required=True, metavar="COMMAND")

    def add(
        name: str, text: str, run: Callable[[argparse.Namespace], int]
    ) -> argparse.ArgumentParser:
        command = commands.add_parser(name, help=text, description=text)
        command.set_defaults(command=run)
        command.add_argument(
            "--over",
            type=Path,
            action="append",
            default=[],
            metavar="FOLDER",
            help="lay a folder of your own knowledge over the base",
        )
        return command

    for name, text, run in (
        ("rank", "List the causes of a case by how probable they are.", _rank),
        ("advise", "Say what to do next in a case, and whether to go inside.", _advise),
    ):
        command = add(name, text, run)
        command.add_argument("case", type=Path, metavar="CASE", help="a case file")
        command.add_argument("--json", action="store_true", help="print JSON")
    command = add("report", "Write a report of a case, to print or to send.", run_report)
    add_report_arguments(command)
    command = add("evaluate", "Score recorded cases that say what was found.", _evaluate)
    command.add_argument(
        "cases", type=Path, nargs="+", metavar="CASE", help="case files or folders"
    )
    command.add_argument("--json", action="store_true", help="print JSON")
    command = add("apart", "Say what tells causes apart, and which nothing tells apart.", _apart)
    command.add_argument("cause", nargs="?", metavar="CAUSE", help="one cause, by its id")
    command.add_argument("--json", action="store_true", help="print JSON")
    command = add("lint", "Check the knowledge base, or folders laid over it.", _lint)
    command.add_argument("folders", type=Path, nargs="*", metavar="FOLDER")
    command = add("knowledge", "Print the whole knowledge base as a web page.", _knowledge)
    command.add_argument("out", type=Path, nargs="?", metavar="OUT.html", help="a file for it")
    command = add("schema", "Print the JSON Schema of knowledge files, for editors.", _schema)
    add_gauge_parser(commands)
    return parser


def _print(lines: Lines) -> int:
    print("\n".join(lines))
    return 0


def _print_json(value: Any) -> int:
    print(json.dumps(value, indent=2))
    return 0


def _assessment(arguments: argparse.Namespace) -> Assessment:
    base = load_base(*arguments.over)
    return assess(base, read_case_file(arguments.case, base))


def _rank(arguments: argparse.Namespace) -> int:
    found = _assessment(arguments)
    return _print_json(rank_json(found)) if arguments.json else _print(rank_lines(found))


def _advise(arguments: argparse.Namespace) -> int:
    found = _assessment(arguments)
    if arguments.json:
        return _print_json(advice_json(found, advise(found)))
    closed = found.case.found is not None
    lines = found_lines(found) if closed else advice_lines(found, advise(found))
    return _print([*_heading(found), *lines])


def rank_json(found: Assessment) -> dict[str, Any]:
    """Give the ranking in its stable JSON form."""
    return {
        "causes": [{"id": c.id, "name": c.name, "p": c.p} for c in found.causes],
        "sets": [{"ids": list(s.ids), "p": s.p} for s in found.sets],
        "unknown": found.unknown,
        "covered": found.covered,
        "left_out": found.marginals.left_out,
        "readings": [
            {
                "measurement": measurement,
                "predicted": [
                    {"cause": f.cause, "low": f.low, "middle": f.middle, "high": f.high}
                    for f in _leading(found, measurement)
                ],
            }
            for measurement in read_measurements(found)
        ],
    }


def rank_lines(found: Assessment) -> Lines:
    """Say the ranking in lines for the terminal."""
    yield from _heading(found)
    yield "What it may be:"
    for place, cause in enumerate(found.causes[:_SHOWN_CAUSES], 1):
        bar = "#" * round(20 * cause.p)
        chance = f"{place:>3}  {100 * cause.p:5.1f} in 100"
        yield f"{chance}  {bar:<20}  {cause.name} ({chance_words(cause.p)})"
    yield f"     {100 * found.several:5.1f} in 100  several at once"
    yield f"     {100 * found.unknown:5.1f} in 100  something this tool does not know"
    names = {c.id: c.name for c in found.causes}
    yield "Most probable sets:"
    for fault_set in found.sets[:3]:
        yield f"     {100 * fault_set.p:5.1f} in 100  {' + '.join(names[i] for i in fault_set.ids)}"
    for measurement in read_measurements(found):
        yield f"{statement(found, reading_key(measurement))}:"
        leading = _leading(found, measurement)[1:]
        moved = [forecast for forecast in leading if forecast.moved]
        for forecast in moved:
            yield f"     {prediction(found, measurement, forecast)}"
        if len(moved) < len(leading):
            alone = len(leading) - len(moved)
            yield f"     {alone} of the first {len(leading)} causes leave it alone"
    if left_out_line(found):
        yield left_out_line(found)
    for line in look_again(found):
        yield f"! {line}"


def _leading(found: Assessment, measurement: str) -> tuple[Forecast, ...]:
    """What no fault and the leading causes predict, with the instrument that was read."""
    instrument = read_with(found, measurement)
    return forecasts(found, measurement, instrument=instrument, top=_SHOWN_FORECASTS)


def _heading(found: Assessment) -> Lines:
    base = found.network.base
    for name, wrong in clashes(found.case).items():
        yield f"Left out of the kit's sheet: {name_of(name).lower()}. {wrong}"
    if found.case.title:
        yield found.case.title
    for stop in found.stops():
        yield f"STOP: {base.cautions[stop].text}"


def advice_json(found: Assessment, advice: Advice) -> dict[str, Any]:
    """Give the advice in its JSON form: every field of the record, the reason, and stop notices."""
    return {
        **asdict(advice),
        "spent": spent(found.case),
        "reason": advice_reason(found, advice),
        "stops": list(found.stops()),
    }


def _evaluate(arguments: argparse.Namespace) -> int:
    base = load_base(*arguments.over)
    scores = evaluate(
        base, [(p.stem, read_case_file(p, base)) for p in _case_files(arguments.cases)]
    )
    if arguments.json:
        return _print_json(evaluation_json(scores))
    return _print(_evaluation_lines(scores))


def _case_files(paths: Iterable[Path]) -> list[Path]:
    files: list[Path] = []
    for path in paths:
        files.extend(sorted(path.glob("*.yaml")) if path.is_dir() else [path])
    if not files:
        raise PullOnceError(
            "There is no case file in that folder.", "Name a folder of .yaml case files."
        )
    return files


def _stages(scores: Sequence[CaseScore]) -> dict[str, Scores]:
    return {
        stage: summarise([s for s in scores if s.stage == stage]) for stage in ("before", "all")
    }


def evaluation_json(scores: Sequence[CaseScore]) -> dict[str, Any]:
    """Give the scores in their stable JSON form."""
    return {
        "stages": {stage: asdict(summary) for stage, summary in _stages(scores).items()},
        "cases": [{"id": s.id, "stage": s.stage, "rank": s.rank, "p": s.p} for s in scores],
    }


def _evaluation_lines(scores: Sequence[CaseScore]) -> Lines:
    yield "case            stage   rank      p"
    for s in scores:
        yield f"{s.id:<15} {s.stage:<7} {s.rank:>4}  {s.p:.3f}"
    yield ""
    yield "stage     n  top-1  top-3  top-5    MRR  Brier  log score"
    for stage, x in _stages(scores).items():
        yield (
            f"{stage:<7} {x.n:>3}  {x.top1:.3f}  {x.top3:.3f}  {x.top5:.3f}  {x.mrr:.3f}  "
            f"{x.brier:.3f}  {x.log_score:.3f}"
        )


def _apart(arguments: argparse.Namespace) -> int:
    base = load_base(*arguments.over)
    if arguments.cause is None:
        found = pairs(base)
        if arguments.json:
            return _print_json(summary_json(base, found))
        return _print(summary_lines(base, found))
    cause = cause_named(base, arguments.cause)
    found = pairs(base)
    if arguments.json:
        return _print_json(neighbours_json(found, cause))
    return _print(neighbour_lines(base, found, cause))


def _lint(arguments: argparse.Namespace) -> int:
    base = load_base(*arguments.over, *arguments.folders)
    issues = sorted((*lint(base), *shift_issues(base), *apart_issues(base)))
    for issue in issues:
        print(issue)
    print("\n".join(base_lines(base)))
    print(f"{len(issues)} to look at." if issues else "Clean.")
    return 1 if issues else 0


def _knowledge(arguments: argparse.Namespace) -> int:
    base = load_base(*arguments.over)
    if arguments.out is None:
        # References stand for what is not ASCII, so that every terminal and pipe can take it.
        return _print([handbook(base).encode("ascii", "xmlcharrefreplace").decode("ascii")])
    write_handbook(arguments.out, base)
    return _print([f"The handbook is in {arguments.out}. Open it with a web browser."])


def _schema(arguments: argparse.Namespace) -> int:
    del arguments
    return _print_json(knowledge_schema())


if __name__ == "__main__":
    sys.exit(main())
