"""How surely a reading keeps a limit, in words."""

from collections.abc import Sequence

from diagnose.forecasts import Verdict
from diagnose.sentences import counts
from knowledge.model import Limit
from knowledge.quantity import parse_quantity

_FEW = 3


def limit_lines(verdicts: Sequence[Verdict], *, every: bool) -> list[str]:
    """Say how a reading stands to its limits, the least sure first.

    Parameters
    ----------
    verdicts : sequence of Verdict
    every : bool
        Whether each has a line, with its source; else of many only the least sure have one.
    """
    found = sorted(verdicts, key=lambda v: round(abs(v.conformity - 0.5), 9))
    if every or len(found) <= _FEW:
        return [limit_words(verdict, source=every) for verdict in found]
    others = found[_FEW - 1 :]
    kept = sum(verdict.conformity >= 0.5 for verdict in others)
    lines = [limit_words(verdict, source=False) for verdict in found[: _FEW - 1]]
    rest = f"{len(others)} other limits: {kept} kept, {len(others) - kept} not"
    return [*lines, f"{rest}, and more surely so than these."]


def limit_words(verdict: Verdict, *, source: bool) -> str:
    """Say how surely a reading keeps a limit or not.

    Parameters
    ----------
    verdict : Verdict
    source : bool
        Whether the limit's source is named.
    """
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
