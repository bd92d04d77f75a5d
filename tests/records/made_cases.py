"""Hypothesis strategies: cases made by changes, as people make them, and two people's changes."""

from hypothesis import strategies as st

from diagnose.case import Case, Entry, Found

KINDS = ("complaint", "check", "work", "repair")
names = st.sampled_from(["air", "disc", "fork"])
hours = st.one_of(st.none(), st.sampled_from([0.1, 0.25, 1.5]))
notes = st.sampled_from(["", "", "seen twice", "Größe 10 mm"])
texts = st.text(max_size=12)
times = st.integers(0, 600).map(lambda m: f"2026-03-02T{8 + m // 60:02}:{m % 60:02}+01:00")


@st.composite
def entries(draw, at=times):
    kind = draw(st.sampled_from(KINDS))
    answers = ["not driven yet", "still there"] if kind == "repair" else ["yes", "no"]
    return Entry(
        **{kind: draw(names)},
        answer=draw(st.sampled_from(answers)),
        when=draw(st.sampled_from(["job", "since"])) if kind == "work" else "job",
        hours=draw(hours),
        note=draw(notes),
        by=draw(st.sampled_from(["", "ada", "ben"])),
        at=draw(st.one_of(st.just(""), at)),
    )


FIELDS = {
    "title": texts,
    "words": texts,
    "stands": st.sampled_from(["seat", "under", "out"]),
    "moved": st.sampled_from([0.0, 0.5, 2.25]),
    "limit": st.one_of(st.none(), st.floats(0, 1000)),
    "labour": st.one_of(st.none(), st.floats(0, 200)),
    "found": st.one_of(st.none(), names.map(lambda n: Found(causes=(n,)))),
}
BY_KEY = {
    "kit": st.sampled_from(["35 mm", "36 mm"]),
    "hours": st.floats(0, 10),
    "parts": st.floats(0, 900),
}


@st.composite
def changes(draw, case):
    """One change to a case, as the window makes them."""
    what = draw(st.sampled_from(["entry"] * 6 + ["remove", "field", "field", "key", "list"]))
    if what == "remove" and case.entries:
        return case.without_entry(draw(st.integers(0, len(case.entries) - 1)))
    if what == "field":
        name = draw(st.sampled_from(sorted(FIELDS)))
        return case.model_copy(update={name: draw(FIELDS[name])})
    if what == "key":
        return draw(with_a_key(case))
    if what == "list":
        skipped, read = case.with_skipped(draw(names)), case.with_acknowledged((draw(names),))
        return draw(st.sampled_from([skipped, read]))
    return case.with_entry(draw(entries()))


@st.composite
def with_a_key(draw, case):
    """A case with a fact, figure, price or hours set or taken out, or with another set-up."""
    name = draw(st.sampled_from([*sorted(BY_KEY), "setup"]))
    if name == "setup":
        setup = draw(st.sampled_from([None, "cable", "rods"]))
        return case.with_facts({draw(names): (draw(names),)}, setup=setup)
    key, values = draw(names), dict(getattr(case, name))
    values.pop(key, None)
    if draw(st.booleans()):
        values[key] = draw(BY_KEY[name])
    return case.model_copy(update={name: values})


@st.composite
def cases(draw, start=None, most=8):
    """A case some changes after another one."""
    case = start or Case()
    for _ in range(draw(st.integers(0, most))):
        case = draw(changes(case))
    return case


@st.composite
def two_seats(draw):
    """What two people started from, and what each of them made of it: (base, mine, theirs)."""
    base = draw(cases())
    return base, draw(cases(base, 6)), draw(cases(base, 6))


any_entries = st.lists(entries(), max_size=7).map(tuple)
