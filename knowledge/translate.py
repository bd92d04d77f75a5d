"""Validation errors in our words, each at its place in the file.

Shared by everything that is read from YAML and checked against a record: the base and case files.
"""

from collections.abc import Iterable, Iterator, Mapping
from difflib import get_close_matches
from functools import cache
from typing import Any, Protocol

from pydantic import BaseModel, ValidationError
from pydantic_core import ErrorDetails

from knowledge.marks import Path as DataPath
from knowledge.marks import Problem

_MAX_SHOWN = 60
# pydantic's type of error -> what belongs in that place; in braces what pydantic says about it
_WANTED: Mapping[str, str] = {
    "string_type": "text (a number or true/false as text stands in quotes)",
    "string_too_short": "text that is not empty",
    "string_too_long": "text of at most {max_length} characters",
    "string_pattern_mismatch": "an id of small letters, digits and _",
    "string_unicode": "text without broken characters",
    "float_type": "a number",
    "int_type": "a whole number",
    "bool_type": "true or false",
    "greater_than": "a number above {gt:g}",
    "greater_than_equal": "a number from {ge:g}",
    "less_than_equal": "a number up to {le:g}",
    "literal_error": "one of {expected}",
    "enum": "one of {expected}",
    "tuple_type": "a list",
    "mapping_type": "keys with values",
    "dict_type": "keys with values",
    "model_type": "keys with values",
    "model_attributes_type": "keys with values",
    "too_short": "at least {min_length} of them",
    "too_long": "at most {max_length} of them",
    "missing": "one more",
}


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
        if item["type"] == "extra_forbidden":
            guess = guess_at(str(path[-1]), _keys_at(kind, path[:-1]))
            yield where.problem(path, f"no key {path[-1]!r} belongs here", key=True, guess=guess)
        elif item["type"] == "missing" and isinstance(item["loc"][-1], str):
            yield where.problem(path, f"{item['loc'][-1]!r} is missing")
        else:
            yield where.problem(path, _said(item), key="[key]" in item["loc"], guess=_meant(item))


def _said(item: ErrorDetails) -> str:
    """One of pydantic's errors in our words."""
    wanted = _WANTED.get(item["type"])
    if wanted is None:  # one of our own checks
        said = item["msg"].removeprefix("Value error, ")
        return said[:1].lower() + said[1:]
    takes = wanted.format(**item.get("ctx", {}))
    shown = item["input"]
    if shown is None:
        return f"nothing stands here: it takes {takes}"
    text = repr(shown) if isinstance(shown, str | int | float) else "this"
    if len(text) > _MAX_SHOWN:
        text = f"{text[:_MAX_SHOWN]}..."
    return f"{text} does not fit here: it takes {takes}"


def _meant(item: ErrorDetails) -> str:
    """The word of a closed list that was probably meant."""
    listed = str(item.get("ctx", {}).get("expected", ""))
    return guess_at(str(item["input"]), listed.replace("'", "").replace(" or ", ", ").split(", "))


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


@cache
def _schema(kind: type[BaseModel]) -> Mapping[str, Any]:
    return kind.model_json_schema()


def _keys_at(kind: type[BaseModel], path: DataPath) -> list[str]:
    """List the keys of the record that a path inside `kind` leads to, by its JSON Schema."""
    schema = _schema(kind)
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
