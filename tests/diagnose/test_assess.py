"""The one call: chances, sets, what is unknown and unexplained, against enumeration."""

from itertools import product
from math import inf
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.assess import assess
from diagnose.case import Case, Entry, Found
from diagnose.errors import UnknownIdError
from diagnose.network import UNKNOWN
from tests.diagnose.oracles import enumeration
from tests.small_bases import make_base

FINDINGS = ("spongy", "wet", "bent")
RATIOS = {"yes": inf, "no": 0.0, "probably": 5.0, "probably not": 0.2}


@pytest.fixture(scope="module")
def base():
    with TemporaryDirectory() as folder:
        return make_base(
            Path(folder),
            complaints={"drags": {}},
            findings={name: {"unexplained": 0.05} for name in FINDINGS},
            mechanisms={"both": {"gate": "all", "of": ["leak", "disc"], "brings": {"drags": 0.9}}},
            causes={
                "air": {"rate": 0.3, "brings": {"drags": 0.8}, "shows": {"spongy": 0.9}},
                "leak": {"rate": 0.2, "brings": {"drags": 0.1}, "shows": {"wet": 1.0}},
                "disc": {"rate": 0.2, "brings": {"drags": 0.5}, "shows": {"bent": 0.9}},
            },
            checks={f"look_{name}": {"finding": name} for name in FINDINGS},
            cautions={},
        )


answers = st.dictionaries(
    st.sampled_from(["drags", *FINDINGS]), st.sampled_from(sorted(RATIOS)), max_size=4
)


def case_of(told):
    entries = [
        Entry(complaint=name, answer=answer)
        if name == "drags"
        else Entry(check=f"look_{name}", answer=answer)
        for name, answer in told.items()
    ]
    return Case(entries=tuple(entries))


def truth(network, told):
    ratios = {network.finding_index[name]: RATIOS[answer] for name, answer in told.items()}
    together = {s: row for group in network.groups for s, row in group.together.items()}
    numbers = (network.prior, network.q, network.leak, ratios, together)
    return enumeration.posterior(enumeration.without_nobody(enumeration.joint(*numbers))), numbers


@given(answers)
def test_everything_equals_enumeration(base, told):
    found = assess(base, case_of(told))
    network = found.network
    posterior, numbers = truth(network, told)
    unknown = network.cause_index[UNKNOWN]
    for chance in found.causes:
        i = network.cause_index[chance.id]
        expected = sum(p for causes, p in posterior.items() if i in causes)
        assert chance.p == pytest.approx(expected, abs=1e-9)
    assert found.unknown == pytest.approx(posterior[frozenset({unknown})], abs=1e-9)
    merged: dict = {}
    for causes, p in posterior.items():
        known = frozenset(network.causes[i] for i in causes - {unknown})
        merged[known] = merged.get(known, 0.0) + p
    # Sets below the floor of the search are left out, and that is said.
    for listed in found.sets:
        assert listed.p == pytest.approx(merged[frozenset(listed.ids)], abs=2e-3)
    several = sum(p for causes, p in merged.items() if len(causes) > 1)
    assert found.covered - 1e-9 <= 1.0
    assert found.several <= several + 1e-9
    assert several - found.several <= 1.0 - found.covered + 1e-9
    for name, share in found.unexplained.items():
        prior, q, leak, ratios, together = numbers
        expected = enumeration.unexplained(
            prior, q, leak, ratios, network.finding_index[name], need_cause=True, together=together
        )
        assert share == pytest.approx(expected, abs=1e-9)


def test_before_any_answer_the_chances_are_the_shares_of_comebacks(base):
    found = assess(base, Case())
    for chance in found.causes:
        assert chance.p == pytest.approx(chance.prior, abs=1e-9)
    total = sum(c.p for c in found.causes) + found.marginals.cause[-1]
    assert total == pytest.approx(base.scale.faults_per_comeback)


def test_the_most_probable_comes_first(base):
    found = assess(base, case_of({"drags": "yes", "spongy": "yes"}))
    assert found.causes[0].id == "air"
    for listed in (found.causes, found.sets):
        assert [x.p for x in listed] == sorted((x.p for x in listed), reverse=True)


@pytest.mark.parametrize("wet", ["yes", "no"])
def test_answers_that_contradict_each_other_are_taken_as_very_sure(tmp_path, wet):
    """Only the leak makes it wet, and always: with it cured and no leak, nothing explains it."""
    base = make_base(
        tmp_path,
        scale={"unknown": {"rate": 0.05, "brings": 0.1, "shows": 0.0, "moves": 0.2}},
        complaints={"drags": {}},
        findings={name: {"unexplained": 0.0} for name in ("wet", "dripping")},
        causes={
            "leak": {"brings": {"drags": 0.5}, "shows": {"wet": 1.0, "dripping": 1.0}},
            "air": {"brings": {"drags": 0.5}},
        },
        checks={f"look_{name}": {"finding": name} for name in ("wet", "dripping")},
    )
    entries = (
        Entry(check="look_wet", answer=wet),
        Entry(check="look_dripping", answer="yes"),
        Entry(complaint="drags", answer="yes"),
    )
    found = assess(base, Case(entries=entries))
    assert found.softened == (wet == "no")
    assert 0.0 < found.cause("leak").p <= 1.0
    if found.softened:
        posterior, _ = truth_soft(found)
        i = found.network.cause_index["leak"]
        expected = sum(p for causes, p in posterior.items() if i in causes)
        assert found.cause("leak").p == pytest.approx(expected, abs=1e-9)


def truth_soft(found):
    network = found.network
    ratios = {network.finding_index[n]: s.ratio for n, s in found.situation.observed.items()}
    assert all(0.0 < ratio < inf for ratio in ratios.values())
    masses = enumeration.joint(network.prior, network.q, network.leak, ratios)
    return enumeration.posterior(enumeration.without_nobody(masses)), ratios


def test_stop_notices_hold_while_what_they_belong_to_is_there(tmp_path):
    base = make_base(
        tmp_path,
        cautions={"no_drive": {"level": "stop", "text": "Do not drive it.", "source": "judgement"}},
        complaints={"drags": {}, "burns": {"stop": "no_drive"}},
        causes={"slips": {"brings": {"burns": 0.9, "drags": 0.2}}},
    )
    held = {
        answer: assess(base, Case(entries=(Entry(complaint="burns", answer=answer),))).stops()
        for answer in ("yes", "probably", "can't tell", "probably not", "no")
    }
    assert held == {
        "yes": ("no_drive",),
        "probably": ("no_drive",),
        "can't tell": (),
        "probably not": (),
        "no": (),
    }


def test_causes_that_nothing_tells_apart_come_by_id(tmp_path):
    twins = {name: {"brings": {"drags": 0.31}, "shows": {"bent": 0.7}} for name in "dbca"}
    base = make_base(
        tmp_path,
        complaints={"drags": {}},
        findings={"bent": {}, "spongy": {}},
        causes={**twins, "air": {"brings": {"drags": 0.3}, "shows": {"spongy": 0.9}}},
        checks={"turn": {"finding": "bent"}, "pump": {"finding": "spongy"}},
    )
    told = (Entry(complaint="drags", answer="yes"), Entry(check="turn", answer="probably"))
    assert [c.id for c in assess(base, Case(entries=told)).causes] == ["a", "b", "c", "d", "air"]


def test_a_cause_that_is_not_there_is_a_key_error(base):
    with pytest.raises(KeyError):
        assess(base, Case()).cause("gremlins")


def test_a_certain_sign_is_proof(base):
    """What nothing but the leak, a slip of the eye or the unknown shows."""
    chances = {
        (wet, spongy): assess(base, case_of({"drags": "yes", "wet": wet, "spongy": spongy}))
        .cause("leak")
        .p
        for wet, spongy in product(("yes", "no"), repeat=2)
    }
    assert chances["no", "yes"] == chances["no", "no"] == pytest.approx(0.0, abs=1e-12)
    assert chances["yes", "no"] > chances["yes", "yes"] > 0.5


def test_what_was_found_must_be_in_the_base(base):
    assert assess(base, Case(found=Found(causes=("leak",)))).case.found is not None
    with pytest.raises(UnknownIdError, match="no cause 'gone'"):
        assess(base, Case(found=Found(causes=("leak", "gone"))))
