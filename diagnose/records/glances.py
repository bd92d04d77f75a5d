"""What a list of cases tells of each, besides what stands in `diagnose.records.kept.Listed`."""

import json
from collections.abc import Collection
from dataclasses import dataclass

from sqlalchemy import Connection, select

from diagnose.case import GRADES
from diagnose.records.tables import cases


@dataclass(frozen=True)
class Glance:
    """What the driver complains of: ids of the complaints he told, and his own words."""

    complaints: tuple[str, ...]
    words: str


def glances(connection: Connection, ids: Collection[str]) -> dict[str, Glance]:
    """Give what the drivers of some cases complain of; a case that is gone is left out."""
    query = select(cases.c.id, cases.c.content).where(cases.c.id.in_(list(ids)))
    return {case_id: _glance(content) for case_id, content in connection.execute(query)}


def _glance(content: str) -> Glance:
    data = json.loads(content)
    told = {e["complaint"]: e["answer"] for e in data.get("entries", []) if "complaint" in e}
    complaints = tuple(name for name, answer in told.items() if answer in GRADES[:2])
    return Glance(complaints, data.get("words", ""))
