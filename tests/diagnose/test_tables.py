"""Tables over open findings: each step against its adjoint, and turns that miss nothing."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.tables import (
    closed,
    closed_back,
    each_turned_on,
    each_turned_on_back,
    folded,
    off_mass,
    opened,
    opened_back,
    schedule,
    turn_on,
    turn_on_back,
    unfolded,
)

chances = st.floats(0.0, 1.0)


@st.composite
def tables(draw, places=(1, 4)):
    n = draw(st.integers(*places))
    rows = draw(st.integers(1, 3))
    seed = draw(st.integers(0, 2**32 - 1))
    return np.random.default_rng(seed).random((rows, 1 << n)), n


@st.composite
def links(draw, n):
    chosen = draw(st.lists(st.integers(0, n - 1), unique=True))
    return tuple((place, draw(chances)) for place in chosen)


def inner(one, other):
    return np.einsum("rt,rt->r", one, other)


class TestAdjoints:
    @given(tables(), st.data())
    def test_turning_on(self, drawn, data):
        table, n = drawn
        chosen = data.draw(links(n))
        other = np.random.default_rng(1).random(table.shape)
        assert inner(turn_on(table, chosen), other) == pytest.approx(
            inner(table, turn_on_back(other, chosen))
        )

    @given(tables(), st.integers(0, 3))
    def test_opening(self, drawn, more):
        table, n = drawn
        other = np.random.default_rng(1).random((len(table), 1 << (n + more)))
        assert inner(opened(table, more), other) == pytest.approx(
            inner(table, opened_back(other, more))
        )

    @given(tables(), st.data())
    def test_closing(self, drawn, data):
        table, n = drawn
        place = data.draw(st.integers(0, n - 1))
        off, on = np.array([0.3, 0.5, 0.9])[: len(table)], data.draw(chances)
        other = np.random.default_rng(1).random((len(table), 1 << (n - 1)))
        assert inner(closed(table, place, off, on), other) == pytest.approx(
            inner(table, closed_back(other, place, off, on))
        )

    @given(tables(), st.data())
    def test_what_has_stayed_off(self, drawn, data):
        table, n = drawn
        place = data.draw(st.integers(0, n - 1))
        back = np.random.default_rng(1).random((len(table), 1 << (n - 1)))
        zero = np.zeros(len(table))
        assert off_mass(table, back, place) == pytest.approx(
            inner(closed(table, place, zero + 1.0, 0.0), back)
        )


@given(tables(), st.data())
def test_turning_on_keeps_the_mass_and_moves_it_up(drawn, data):
    table, n = drawn
    chosen = data.draw(links(n))
    after = turn_on(table, chosen)
    assert after.sum(axis=1) == pytest.approx(table.sum(axis=1))
    for place, chance in chosen:
        stays_off = closed(table, place, np.ones(len(table)), 0.0).sum(axis=1)
        left = closed(after, place, np.ones(len(table)), 0.0).sum(axis=1)
        assert left == pytest.approx((1.0 - chance) * stays_off)


@given(tables(), st.data())
def test_each_row_may_be_turned_on_with_chances_of_its_own(drawn, data):
    table, n = drawn
    places = data.draw(st.lists(st.integers(0, n - 1), unique=True))
    own = np.random.default_rng(2).random((len(table), len(places)))
    there, back = each_turned_on(table, places, own), each_turned_on_back(table, places, own)
    for i in range(len(table)):
        links = tuple(zip(places, own[i].tolist(), strict=True))
        assert there[i] == pytest.approx(turn_on(table[i : i + 1], links)[0])
        assert back[i] == pytest.approx(turn_on_back(table[i : i + 1], links)[0])


@given(tables(), st.data())
def test_folding_brings_the_places_that_are_named_to_the_end(drawn, data):
    table, n = drawn
    places = data.draw(st.lists(st.integers(0, n - 1), unique=True, min_size=1))
    at_end = folded(table, places)
    assert at_end.shape == (table.size >> len(places), 1 << len(places))
    for entry in range(1 << n):
        row = sum(1 << i for i, place in enumerate(places) if entry >> place & 1)
        alone = np.zeros_like(table)
        alone[0, entry] = 1.0
        assert folded(alone, places).sum(axis=0)[row] == 1.0
    assert (unfolded(at_end, places, table.shape) == table).all()


class TestSchedule:
    touched = st.lists(st.frozensets(st.integers(0, 7), min_size=1), max_size=10)

    @given(touched)
    def test_every_component_has_its_turn_with_its_findings_open(self, touched):
        turns, *_ = schedule(touched)
        assert sorted(turn.component for turn in turns) == list(range(len(touched)))
        for turn in turns:
            assert touched[turn.component] <= turn.places.keys()

    @given(touched)
    def test_every_finding_opens_and_closes_once_and_places_hold(self, touched):
        turns, width, _ = schedule(touched)
        active: list[int] = []
        closed_ones = []
        for turn in turns:
            assert turn.places == {f: place for place, f in enumerate(turn.places)}
            places = sorted(turn.places, key=turn.places.get)
            assert places[: len(active)] == active
            assert len(places) == len(active) + turn.opens
            assert len(places) <= width
            active = places
            for place, finding in turn.closes:
                assert active.pop(place) == finding
                closed_ones.append(finding)
        assert not active
        assert sorted(closed_ones) == sorted(set().union(*touched))

    @given(st.permutations(range(31)))
    def test_a_chain_is_two_wide_however_long_and_however_numbered(self, number):
        turns, width, _ = schedule([frozenset({number[i], number[i + 1]}) for i in range(30)])
        assert len(turns) == 30
        assert width == 2

    def test_what_falls_apart_is_taken_part_by_part(self):
        _, width, _ = schedule([frozenset({3 * i, 3 * i + 1, 3 * i + 2}) for i in range(10)])
        assert width == 3
