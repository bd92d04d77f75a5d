"""Small invented knowledge bases, built where a test says what matters and nothing else."""

from collections.abc import Mapping

import yaml

from knowledge.load import load_base

WORDS = {
    "scale": {
        "strength": {"always": 0.97, "often": 0.5, "hardly ever": 0.02, "never": 0.0},
        "rate": {"common": 0.2, "rare": 0.05},
        "change": {"likelier": 3.0, "less likely": 0.25, "ruled out": 0.0},
        "answer": {"probably": 5.0, "probably not": 0.2},
        "unknown": {"rate": 0.05, "brings": 0.1, "shows": 2.0, "moves": 0.2},
        "mistyped": 0.01,
        "faults_per_comeback": 1.2,
        "hand_over": 8.0,
        "ask_minutes": 3.0,
        "drive_minutes": 20.0,
        "source": "judgement",
    },
    "levels": [
        {"id": "seat", "name": "seat", "drivable": True, "down": 0, "up": 0},
        {"id": "under", "name": "under", "drivable": True, "down": 0.25, "up": 0.25},
        {"id": "out", "name": "gearbox out", "drivable": False, "down": 4, "up": 3},
        {"id": "apart", "name": "cover off", "drivable": False, "down": 0.5, "up": 0.5},
    ],
    "zones": [{"id": "somewhere", "name": "Somewhere"}],
}
SOURCED = (
    "levels",
    "facts",
    "setups",
    "complaints",
    "mechanisms",
    "causes",
    "findings",
    "measurements",
    "checks",
)


def make_base(folder, *, scale: Mapping = {}, **records):
    """Write and load a base: ``kind={id: {key: value}}``, links as words or plain chances.

    Measurements are in mm unless they say otherwise; the bands of a ``gauge`` meet at ``edges``;
    a shift is an amount, or an amount and a spread.
    """
    data = {kind: list(items) for kind, items in WORDS.items() if kind != "scale"}
    data["scale"] = {**WORDS["scale"], **scale}
    for kind, items in records.items():
        data[kind] = [{"id": name, **_filled(kind, name, item)} for name, item in items.items()]
    for kind in (*SOURCED, "work"):
        for record in data.get(kind, ()):
            record.setdefault("source", "judgement")
    folder.mkdir(exist_ok=True)
    text = yaml.safe_dump(data, sort_keys=False)
    (folder / "base.yaml").write_text(text, encoding="utf-8")
    return load_base(base=folder)


def _filled(kind, name, item):
    """A record with the texts that it must have, and numbers with a source."""
    item = dict(item)
    texts = {
        "complaints": {"ask": "Is it so?"},
        "findings": {"absent": "It is not there."},
        "causes": {"zone": "somewhere", "rate": "common", "about": "About.", "prove": "Proof."},
        "checks": {"from": "seat", "minutes": 6, "do": "Do.", "say": "Say.", "why": "Why."},
        "facts": {"ask": "Which?"},
        "measurements": {
            "unit": "mm",
            "plausible": ["0 mm", "150 mm"],
            "instruments": {"rule": {"name": "rule", "uncertainty": "1 mm"}},
            "how": "Hold the rule to it.",
        },
        "work": {"ask": "Was it done?"},
    }
    named = {} if kind in {"cautions", "sources"} else {"name": name}
    item = {**named, **texts.get(kind, {}), **item}
    if kind == "causes":
        repair = {"do": "Mend it.", "from": "seat", "hours": 0.5, "cures": "always"}
        item["repair"] = {**repair, **item.get("repair", {})}
    if kind == "checks" and "finding" in item:
        item.update(yes="It is there.", no="It is not.")
    if kind == "checks" and "answers" in item:
        item["answers"] = [
            {"id": key, "text": key, "means": key, "shows": shows}
            for key, shows in item["answers"].items()
        ]
        for i, edge in enumerate(item.pop("edges", ())):
            item["answers"][i]["below"] = item["answers"][i + 1]["at_least"] = edge
    if kind == "work":
        item["answers"] = [
            {"id": key, "text": key, **{k: _links(v) for k, v in answer.items()}}
            for key, answer in item["answers"].items()
        ]
    for key in ("brings", "shows"):
        if key in item:
            item[key] = _links(item[key])
    if "shifts" in item:
        item["shifts"] = {figure: _shift(size) for figure, size in item["shifts"].items()}
    for key in ("rate", "unexplained"):
        if key in item:
            item[key] = _number(item[key])
    return item


def _links(links):
    return {name: _number(strength) for name, strength in links.items()}


def _shift(size):
    """An amount, or an amount and a spread, or a shift that is written out."""
    if isinstance(size, tuple):
        return {"by": size[0], "spread": size[1]}
    return size if isinstance(size, dict | list) else {"by": size}


def _number(strength):
    """A plain chance, given a source as the model wants it."""
    if isinstance(strength, float):
        return {"p": strength, "source": "judgement"}
    return strength
