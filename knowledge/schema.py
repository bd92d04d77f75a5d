"""JSON Schema of knowledge files, for editors that check while one types."""

from types import GenericAlias
from typing import Any

from pydantic import ConfigDict, create_model

from knowledge.load import KINDS
from knowledge.model import Record, Scale


def knowledge_schema() -> dict[str, Any]:
    """Give the JSON Schema of one knowledge file."""
    fields: dict[str, Any] = {
        kind: (GenericAlias(tuple, (record, ...)), ()) for kind, record in KINDS.items()
    }
    file = create_model(
        "KnowledgeFile",
        __base__=Record,
        **fields,
        scale=(Scale | None, None),
        off=(tuple[str, ...], ()),
    )
    file.model_config = ConfigDict(title="Pull Once knowledge file")
    return file.model_json_schema(by_alias=True)
