"""Validation errors in our words, each at its place in the file.

Shared by everything that is read from YAML and checked against a record: the base and case files.
"""

from collections.abc import Iterable, Iterator, Mapping
from difflib import get_close_matches
from typing import Any, Protocol

from pydantic import BaseModel, ValidationError

from knowledge.marks import Path as DataPath
from knowledge.marks import Problem


class Locator(Protocol):
    """Something that can say where a path of the data stood."""

    def problem(
        self, path: DataPath, message: str, *, key: bool = False, guess: str = ""
    ) -> Problem:
        """Make a problem at a path of the data."""
        ...


def guess_at(word: str, known: Iterable[str]) -> str:
    """Give the known word that `word` was probably meant to be, or nothing."""
    return next(iter(get_close_matches(word, list(known), n=1, cutoff=0.6)), "")


def translate(
    error: ValidationError, kind: type[BaseModel], data: Any, where: Locator
) -> Iterator[Problem]:
    """Turn pydantic's errors into problems.

    Parameters
    ----------
    error : ValidationError
    kind : type
        The record the data was checked against.
    data : object
        The data, to tell which parts of an error's location are really in the file.
    where : Locator

    Yields
    ------
    Problem
    """
    for item in error.errors():
        path = _path_in_data(item["loc"], data)
        shown = item.get("input")
        if item["type"] == "extra_forbidden":
            guess = guess_at(str(path[-1]), _keys_at(kind, path[:-1]))
            yield where.problem(path, f"no key {path[-1]!r} belongs here", key=True, guess=guess)
        elif item["type"] == "missing":
            yield where.problem(path, f"{item['loc'][-1]!r} is missing")
        else:
            said = item["msg"].removeprefix("Value error, ")
            plain = isinstance(shown, str | int | float) and item["type"] != "value_error"
            message = f"{shown!r}: {said[0].lower()}{said[1:]}" if plain else said
            yield where.problem(path, message)


def _path_in_data(loc: tuple[str | int, ...], data: Any) -> DataPath:
    """Follow an error's location as far as the data goes; skip the parts pydantic adds."""
    path: list[str | int] = []
    for part in loc:
        in_map = isinstance(data, dict) and part in data
        in_list = isinstance(data, list) and isinstance(part, int) and part < len(data)
        if in_map or in_list:
            data = data[part]
            path.append(part)
    return tuple(path)


def _keys_at(kind: type[BaseModel], path: DataPath) -> list[str]:
    """List the keys of the record that a path inside `kind` leads to, by its JSON Schema."""
    schema: Mapping[str, Any] = kind.model_json_schema()
    definitions = schema.get("$defs", {})

    def resolve(node: Mapping[str, Any]) -> Mapping[str, Any]:
        for option in (node, *node.get("anyOf", ())):
            if "$ref" in option:
                found: Mapping[str, Any] = definitions[option["$ref"].rsplit("/", 1)[1]]
                return found
        return node

    for part in path:
        node = resolve(schema)
        inside = node.get("items") or node.get("prefixItems", [{}])[0]
        if isinstance(part, str):
            named = (node.get("additionalProperties"), *node.get("patternProperties", {}).values())
            fallback = next((option for option in named if isinstance(option, dict)), {})
            inside = node.get("properties", {}).get(part, fallback)
        schema = inside or {}
    return list(resolve(schema).get("properties", {}))
