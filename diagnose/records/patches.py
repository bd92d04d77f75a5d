"""What one change does to a case, as a small record that JSON can hold.

A patch is ``{"set": {field: value}, "entries": [start, gone, [entry, ...]]}``; each part is left
out where it says nothing. ``set`` holds the fields that differ, with None for a field's default.
``entries`` replaces ``gone`` entries from ``start`` on, so that a change does not repeat the
timeline.
"""

from collections.abc import Iterable, Iterator, Mapping
from typing import Any

from diagnose.case import Case

Data = Mapping[str, Any]
"""A case, an entry or a patch as JSON holds it; what is a default is left out."""


def data_of(case: Case) -> dict[str, Any]:
    """Give a case as JSON holds it, without what is a default."""
    return case.model_dump(mode="json", exclude_defaults=True)


def patch_of(before: Case, after: Case) -> dict[str, Any]:
    """Give what makes one case of another.

    Returns
    -------
    dict
        A patch as the module describes it; empty if the cases are equal.
    """
    return patch_between(data_of(before), data_of(after))


def patch_between(old: Data, new: Data) -> dict[str, Any]:
    """Give what makes one case of another, both as `data_of` gives them."""
    patch: dict[str, Any] = {}
    names = sorted((old.keys() | new.keys()) - {"entries"})
    fields = {n: new.get(n) for n in names if old.get(n) != new.get(n)}
    if fields:
        patch["set"] = fields
    splice = _splice(old.get("entries", []), new.get("entries", []))
    if splice is not None:
        patch["entries"] = splice
    return patch


def patched(before: Case, patch: Data) -> Case:
    """Give the case that a patch makes of another.

    Raises
    ------
    ValueError
        If the patch was made from another case, or makes what is no case.
    """
    return Case.model_validate(patched_data(data_of(before), [patch]))


def patched_data(old: Data, patches: Iterable[Data]) -> dict[str, Any]:
    """Lay patches on a case in their order, all as JSON holds them.

    Raises
    ------
    ValueError
        If a patch was made from another case.
    """
    data = dict(old)
    entries = list(data.pop("entries", []))
    for patch in patches:
        for name, value in patch.get("set", {}).items():
            if value is None:
                data.pop(name, None)
            else:
                data[name] = value
        if "entries" in patch:
            start, gone, come = patch["entries"]
            if start + gone > len(entries):
                message = f"the patch is of a longer case: entry {start + gone} of {len(entries)}"
                raise ValueError(message)
            entries[start : start + gone] = come
    return {**data, "entries": entries} if entries else data


def changed(old: Data, patch: Data) -> Iterator[tuple[str, str, str]]:
    """List what a patch changes, in few words: what was done, to what kind, and its name.

    Parameters
    ----------
    old : Data
        The case before, as `data_of` gives it.
    patch : Data

    Yields
    ------
    tuple of str
        ("added" | "changed" | "removed", "complaint" | "check" | "work" | "repair", id), or
        ("changed", field of the case, "").
    """
    for name in patch.get("set", {}):
        yield "changed", name, ""
    if "entries" in patch:
        start, gone, come = patch["entries"]
        went = old.get("entries", [])[start : start + gone]
        left = [subject_of(e) for e in went if e not in come]
        for entry in come:
            subject = subject_of(entry)
            if entry in went:
                continue
            if subject in left:
                left.remove(subject)
                yield "changed", *subject
            else:
                yield "added", *subject
        for subject in left:
            yield "removed", *subject


def subject_of(entry: Data) -> tuple[str, str]:
    """Give what an entry is about, as `diagnose.case.Entry.subject` does."""
    return next((k, entry[k]) for k in ("complaint", "check", "work", "repair") if k in entry)


def _splice(old: list[Any], new: list[Any]) -> list[Any] | None:
    """Give the splice between two timelines: first entry, number gone, those that come."""
    shortest = min(len(old), len(new))
    start = next((i for i in range(shortest) if old[i] != new[i]), shortest)
    most = shortest - start
    end = next((i for i in range(most) if old[-1 - i] != new[-1 - i]), most)
    gone, come = len(old) - start - end, new[start : len(new) - end]
    return [start, gone, come] if gone or come else None
