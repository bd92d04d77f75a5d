"""How surely a reading keeps a limit, in words."""

from collections.abc import Sequence

from diagnose.forecasts import Verdict
from diagnose.sentences import counts
from knowledge.model import Limit
from knowledge.quantity import parse_quantity

_FEW = 3


def limit_lines(verdicts: Sequence[Verdict], *, few: bool, sources: bool) -> tuple[str, ...]:
    """Say how a reading stands to its limits, the least sure first.

    Parameters
    ----------
    verdicts : sequence of Verdict
    few : bool
        Whether of many only the least sure have a line, and the others one together.
    sources : bool
        Whether a line names the limit's source.

    Returns
    -------
    tuple of str
    """
    found = sorted(verdicts, key=lambda v: round(abs(v.conformity - 0.5), 9))
    if not few or len(found) <= _FEW:
        return tuple(_line(verdict, source=sources) for verdict in found)
    lines = [_line(verdict, source=sources) for verdict in found[: _FEW - 1]]
    others = found[_FEW - 1 :]
    kept = sum(verdict.conformity >= 0.5 for verdict in others)
    rest = f"{len(others)} other limits: {kept} kept, {len(others) - kept} not"
    return (*lines, f"{rest}, and more surely so than these.")


def _line(verdict: Verdict, *, source: bool) -> str:
    limit, p = verdict.limit, verdict.conformity
    kept = p >= 0.5
    sure = counts(p if kept else 1.0 - p)
    named = f" [{', '.join(limit.source)}]" if source else ""
    return f"{_edges(limit, kept=kept)} ({limit.name}): {sure} sure.{named}"


def _edges(limit: Limit, *, kept: bool) -> str:
    low, high = limit.at_least, limit.at_most
    if low is None:
        return f"{'Not above' if kept else 'Above'} {high}"
    if high is None:
        return f"{'Not below' if kept else 'Below'} {low}"
    unit = parse_quantity(high).unit
    return f"{'Within' if kept else 'Outside'} {low.removesuffix(unit).strip()} to {high}"
