"""The JSON Schema that editors get: it takes what the gate takes, and refuses what it refuses.

The validator below is a small one of our own, with just the keywords the schema uses (draft
2020-12); it fails on a keyword that it does not know, so that none is passed over in silence.
"""

import json
import re
from pathlib import Path

import pytest

from knowledge.load import base_folder
from knowledge.marks import read_marked_file
from knowledge.raw import KINDS
from knowledge.schema import knowledge_schema

SMALL = Path(__file__).parent / "small"
NOTES = {"$defs", "title", "description", "default"}
TYPES = {"object": dict, "array": list, "string": str, "number": int | float, "integer": int}


def faults(value, schema, root, where=()):
    """List the places of a value that a schema refuses."""
    found = []
    for keyword, wanted in schema.items():
        if keyword in NOTES:
            continue
        fits = {
            "$ref": lambda w: not faults(value, root["$defs"][w.rsplit("/", 1)[1]], root),
            "anyOf": lambda w: any(not faults(value, option, root) for option in w),
            "type": lambda w: _is(value, w),
            "enum": lambda w: value in w,
            "const": lambda w: value == w,
            "pattern": lambda w: not isinstance(value, str) or re.search(w, value) is not None,
            "minLength": lambda w: not isinstance(value, str) or len(value) >= w,
            "maxLength": lambda w: not isinstance(value, str) or len(value) <= w,
            "minItems": lambda w: not isinstance(value, list) or len(value) >= w,
            "maxItems": lambda w: not isinstance(value, list) or len(value) <= w,
            "minProperties": lambda w: not isinstance(value, dict) or len(value) >= w,
            "minimum": lambda w: not _is(value, "number") or value >= w,
            "maximum": lambda w: not _is(value, "number") or value <= w,
            "exclusiveMinimum": lambda w: not _is(value, "number") or value > w,
            "exclusiveMaximum": lambda w: not _is(value, "number") or value < w,
            "required": lambda w: not isinstance(value, dict) or set(w) <= value.keys(),
            "propertyNames": lambda w: all(not faults(key, w, root) for key in _keys(value)),
            "additionalProperties": lambda w: _others_fit(value, schema, w, root),
            "properties": lambda _: True,
            "patternProperties": lambda _: True,
            "items": lambda _: True,
            "prefixItems": lambda _: True,
        }[keyword](wanted)
        if not fits and keyword not in {"$ref", "anyOf"}:
            found.append((*where, keyword))
        elif not fits:
            options = wanted if keyword == "anyOf" else [root["$defs"][wanted.rsplit("/", 1)[1]]]
            found.extend(f for option in options for f in faults(value, option, root, where))
    for key, inner, inner_schema in _children(value, schema):
        found.extend(faults(inner, inner_schema, root, (*where, key)))
    return found


def _is(value, kind):
    if kind in {"null", "boolean"}:
        return value is None if kind == "null" else isinstance(value, bool)
    return isinstance(value, TYPES[kind]) and not isinstance(value, bool)


def _keys(value):
    return value if isinstance(value, dict) else ()


def _named(key, schema):
    yield from (s for name, s in schema.get("properties", {}).items() if name == key)
    patterns = schema.get("patternProperties", {}).items()
    yield from (s for pattern, s in patterns if re.search(pattern, key))


def _others_fit(value, schema, wanted, root):
    others = [key for key in _keys(value) if not list(_named(key, schema))]
    if isinstance(wanted, bool):
        return wanted or not others
    return all(not faults(value[key], wanted, root) for key in others)


def _children(value, schema):
    if isinstance(value, dict):
        for key, inner in value.items():
            yield from ((key, inner, named) for named in _named(key, schema))
    if isinstance(value, list):
        first = schema.get("prefixItems", [])
        for i, inner in enumerate(value):
            if i < len(first) or "items" in schema:
                yield i, inner, first[i] if i < len(first) else schema["items"]


@pytest.fixture(scope="module")
def schema():
    return json.loads(json.dumps(knowledge_schema()))


def read(path):
    return read_marked_file(path, path.name).data


FILES = [*sorted(SMALL.glob("*.yaml")), *sorted(base_folder().rglob("*.yaml"))]


@pytest.mark.parametrize("path", FILES, ids=lambda p: f"{p.parent.name}/{p.stem}")
def test_a_file_that_loads_validates(path, schema):
    assert faults(read(path), schema, schema) == []


def test_all_kinds_are_there(schema):
    assert schema["properties"].keys() == {*KINDS, "scale", "off"}
    assert schema["title"] == "Pull Once knowledge file"


def test_keys_are_named_as_they_are_written(schema):
    for record in ("Check", "Repair"):
        keys = schema["$defs"][record]["properties"]
        assert "from" in keys
        assert "from_" not in keys


def test_all_three_voices_are_required(schema):
    assert {"do", "say", "why"} <= set(schema["$defs"]["Check"]["required"])
    assert "ask" in schema["$defs"]["Complaint"]["required"]


def test_unknown_keys_are_forbidden_in_every_record(schema):
    objects = [
        option
        for record in (schema, *schema["$defs"].values())
        for option in record.get("anyOf", [record])
        if option.get("type") == "object"
    ]
    assert len(objects) > len(KINDS)
    for record in objects:
        assert record["additionalProperties"] is False


CHANGES = [  # path in the small base's tree.yaml, new value, whether it still validates
    (("causes", 0, "rate"), "common", True),
    (("causes", 0, "rate"), {"word": "common"}, True),
    (("causes", 0, "rate"), {"p": 0.5, "source": "R-PLAY-1"}, True),
    (("causes", 0, "rate"), {"p": 0.5, "source": ["R-PLAY-1", "judgement"]}, True),
    (("causes", 0, "rate"), 0.5, False),
    (("causes", 0, "rate"), "", False),
    (("causes", 0, "rate"), {"p": 1.3, "source": "R-PLAY-1"}, False),
    (("causes", 0, "rate"), {"p": "often", "source": "R-PLAY-1"}, False),
    (("causes", 0, "rate"), {"wrod": "common"}, False),
    (("causes", 0, "source"), "judgement", True),
    (("causes", 0, "source"), ["judgement"], True),
    (("causes", 0, "source"), [], False),
    (("causes", 0, "source"), None, False),
    (("causes", 0, "kind"), "falt", False),
    (("causes", 0, "id"), "Fork Bent", False),
    (("causes", 0, "brings"), {"Fork Bent": "always"}, False),
    (("causes", 0, "when"), {"release": "cable"}, False),
    (("causes", 0, "repair", "hours"), "soon", False),
    (("causes", 0, "repair", "hours"), -1, False),
    (("causes", 0, "repair"), {"do": "Mend it.", "hours": 1}, False),
    (("causes", 0, "colour"), "red", False),
    (("mechanisms", 1, "gate"), "some", False),
    (("complaints", 0, "unexplained"), "hardly ever", True),
    (("causes", 1, "shifts"), {"air": {"by": 2000}}, True),
    (("causes", 1, "shifts"), {"air": {"by": "2 cm3", "spread": "1 cm3"}}, True),
    (("causes", 1, "shifts"), {"air": [{"kit": "fluid", "times": 0.1, "when": {}}]}, True),
    (("causes", 1, "shifts"), {"air": "2 cm3"}, False),
    (("causes", 1, "shifts"), {"Air": {"by": 2000}}, False),
    (("causes", 1, "shifts"), {"air": {"by": [2000]}}, False),
    (("causes", 1, "shifts"), {"air": {"bye": 2000}}, False),
    (("causes", 1, "shifts"), {"air": {"kit": "fluid", "times": "twice"}}, False),
    (("causes", 1, "shifts"), {"air": {"kit": "fluid", "times": 101}}, False),
    (("causes", 1, "alike"), {"air": "One repair puts both right."}, True),
    (("causes", 1, "alike"), {"air": ""}, False),
    (("causes", 1, "alike"), ["air"], False),
    (("complaint",), [], False),
    (("off",), ["air"], True),
]

MEASUREMENT = {
    "id": "wobble",
    "name": "Wobble",
    "unit": "thou",
    "plausible": ["0 thou", "99 thou"],
    "instruments": {"dial": {"name": "dial", "uncertainty": "1 thou"}},
    "how": "One turn.",
    "source": "judgement",
}
MEASUREMENTS = [  # key of a measurement, new value, whether it still validates
    ("healthy", {"mean": "4 thou", "spread": "2 thou"}, True),
    ("healthy", {"mean": "4 thou"}, False),
    ("healthy", {"mean": 4, "spread": 2}, False),
    ("model", "plate_lift", True),
    ("open_below", True, True),
    ("open_below", "yes", False),
    ("plausible", ["0 thou"], False),
    ("plausible", ["0 thou", "5 thou", "9 thou"], False),
    ("instruments", {}, False),
    ("instruments", {"dial": {"name": "dial"}}, False),
    ("instruments", {"Dial": {"name": "dial", "uncertainty": "1 thou"}}, False),
    ("limits", [{"name": "new", "at_most": "8 thou", "source": ["judgement"]}], True),
    ("limits", [{"name": "new", "at_most": 8, "source": "judgement"}], False),
    ("limits", [{"name": "new", "at_most": "8 thou"}], False),
    ("limits", [{"name": "new", "most": "8 thou", "source": "judgement"}], False),
    ("how", None, False),
]


@pytest.mark.parametrize(("path", "value", "valid"), CHANGES)
def test_what_it_takes(path, value, valid, schema):
    data = read(SMALL / "tree.yaml")
    inner = data
    for key in path[:-1]:
        inner = inner[key]
    inner[path[-1]] = value
    assert (faults(data, schema, schema) == []) is valid


@pytest.mark.parametrize(("key", "value", "valid"), MEASUREMENTS)
def test_what_it_takes_of_a_measurement(key, value, valid, schema):
    data = {"measurements": [MEASUREMENT | {key: value}]}
    assert (faults(data, schema, schema) == []) is valid
