"""Short names for what the tests of the store do."""

from uuid import uuid4

from diagnose.case import Case, Entry

AT = "2026-03-02T08:00+01:00"
LATER = "2026-03-02T09:30+01:00"


def token():
    return str(uuid4())


def check(name, answer, **more):
    return Entry(check=name, answer=answer, **more)


def new(store, case=None, by="ada"):
    return store.new(case or Case(), by, AT, token())


def save(store, kept, case, by="ada", **more):
    return store.save(kept.id, case, kept.number, by, LATER, token(), **more)


def answer(store, kept, name, said, by="ada"):
    """Answer one check upon the case as the seat has it."""
    return save(store, kept, kept.case.with_entry(check(name, said, by=by)), by)
