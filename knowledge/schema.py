"""JSON Schema of knowledge files, for editors that check while one types."""

from types import GenericAlias
from typing import Any

from pydantic import create_model

from knowledge.model import Record, Scale
from knowledge.raw import KINDS


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
    schema = file.model_json_schema(by_alias=True)
    schema["title"] = "Pull Once knowledge file"
    _tidy(schema)
    _allow_short_forms(schema)
    return schema


def _tidy(node: Any) -> None:
    """Refuse keys that fit no pattern of a mapping's keys, and count a list's items."""
    if isinstance(node, dict) and "patternProperties" in node:
        node["additionalProperties"] = False
    if isinstance(node, dict) and node.get("type") == "array" and "minLength" in node:
        node["minItems"] = node.pop("minLength")
    for child in node.values() if isinstance(node, dict) else node:
        if isinstance(child, dict | list):
            _tidy(child)


def _allow_short_forms(schema: dict[str, Any]) -> None:
    """Allow what the records take besides: a word for a strength, one of a list by itself."""
    word = {"type": "string", "minLength": 1}
    definitions = schema["$defs"]
    definitions["Strength"] = {"anyOf": [word, definitions["Strength"]]}
    by_figure = definitions["Cause"]["properties"]["shifts"]["patternProperties"]
    for pattern, listed in by_figure.items():
        by_figure[pattern] = {"anyOf": [listed["items"], listed]}
    records = [d["anyOf"][1] if "anyOf" in d else d for d in definitions.values()]
    for record in records:
        properties = record.get("properties", {})
        if "source" in properties:
            properties["source"] = {"anyOf": [word, properties["source"]]}
