"""Layered layout: nothing on top of anything else, whatever the boxes and links."""

from itertools import combinations, pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.drawings.layered import Link, Spacing, lay_out
from diagnose.drawings.rows import Box, Size
from diagnose.drawings.spread import spread

sizes = st.builds(Size, st.floats(10.0, 300.0), st.floats(5.0, 400.0))
words = st.one_of(st.none(), st.builds(Size, st.floats(5.0, 120.0), st.floats(5.0, 40.0)))


@st.composite
def graphs(draw):
    """Boxes and links without a cycle: every link runs from a later box to an earlier one."""
    n = draw(st.integers(1, 9))
    boxes = {f"b{i}": draw(sizes) for i in range(n)}
    pairs = list(combinations(range(n), 2))
    chosen = draw(st.lists(st.sampled_from(pairs), unique=True)) if pairs else []
    links = [Link(f"b{late}", f"b{early}", draw(words)) for early, late in chosen]
    return boxes, links


def overlap(one, other, *, slack=1e-6):
    return (
        one.left < other.right - slack
        and other.left < one.right - slack
        and one.top < other.bottom - slack
        and other.top < one.bottom - slack
    )


def enters(run, box, *, slack=1e-6):
    """Whether an upright run goes through the inside of a box."""
    low, high = sorted((run.above, run.below))
    return (
        box.left + slack < run.x < box.right - slack
        and low < box.bottom - slack
        and high > box.top + slack
    )


def is_inside(box, size, *, slack=1e-6):
    return (
        box.left >= -slack
        and box.top >= -slack
        and box.right <= size.width + slack
        and box.bottom <= size.height + slack
    )


@given(graphs(), st.floats(50.0, 900.0))
def test_boxes_and_words_stand_apart_and_inside(graph, room):
    boxes, links = graph
    layout = lay_out(boxes, links, room=room)
    assert {name: (b.width, b.height) for name, b in layout.boxes.items()} == boxes
    placed = [*layout.boxes.values(), *(way.word for way in layout.ways if way.word is not None)]
    assert not any(overlap(one, other) for one, other in combinations(placed, 2))
    assert all(is_inside(box, layout.size) for box in placed)


@given(graphs(), st.floats(50.0, 900.0))
def test_every_link_runs_upward_from_its_tail_to_its_head(graph, room):
    boxes, links = graph
    layout = lay_out(boxes, links, room=room)
    assert [way.link for way in layout.ways] == links
    for way in layout.ways:
        tail, head = layout.boxes[way.link.tail], layout.boxes[way.link.head]
        assert head.bottom < tail.top
        first, last = way.pieces[0][0], way.pieces[-1][-1]
        assert first.below == tail.top
        assert tail.left <= first.x <= tail.right
        assert last.above == head.bottom
        assert head.left <= last.x <= head.right
        runs = [run for piece in way.pieces for run in piece]
        assert all(run.above <= run.below for run in runs)
        assert all(upper.below <= lower.above + 1e-6 for lower, upper in pairwise(runs))


@given(graphs(), st.floats(50.0, 900.0))
def test_a_way_is_broken_just_by_its_word(graph, room):
    boxes, links = graph
    for way in lay_out(boxes, links, room=room).ways:
        assert len(way.pieces) == (1 if way.word is None else 2)
        assert (way.word is None) == (way.link.word is None)
        if way.word is not None:
            assert way.pieces[0][-1].above == way.word.bottom
            assert way.pieces[1][0].below == way.word.top
            assert way.pieces[0][-1].x == pytest.approx(way.word.middle)


@given(graphs(), st.floats(50.0, 900.0))
def test_no_way_goes_through_a_box_or_another_word(graph, room):
    boxes, links = graph
    layout = lay_out(boxes, links, room=room)
    placed = [*layout.boxes.values(), *(way.word for way in layout.ways if way.word is not None)]
    for way in layout.ways:
        for piece in way.pieces:
            assert not any(enters(run, box) for run in piece for box in placed)
            # Between two runs it swings over in the gap between two rows.
            for lower, upper in pairwise(piece):
                gap = Box(
                    min(lower.x, upper.x),
                    upper.below,
                    abs(lower.x - upper.x),
                    lower.above - upper.below,
                )
                assert not any(overlap(gap, box) for box in placed)


@given(graphs(), st.floats(50.0, 900.0))
def test_a_row_holds_no_more_boxes_than_fit(graph, room):
    boxes, links = graph
    across = Spacing().across
    rows = {}
    for box in lay_out(boxes, links, room=room).boxes.values():
        rows.setdefault(box.top, []).append(box.width)
    for widths in rows.values():
        assert len(widths) == 1 or sum(widths) + across * (len(widths) - 1) <= room + 1e-6


@given(graphs(), st.randoms(use_true_random=False))
def test_the_order_in_which_boxes_are_named_does_not_matter(graph, random):
    boxes, links = graph
    names = list(boxes)
    random.shuffle(names)
    mixed = lay_out({name: boxes[name] for name in names}, links, room=500.0)
    plain = lay_out(boxes, links, room=500.0)
    assert dict(mixed.boxes) == dict(plain.boxes)
    assert mixed.ways == plain.ways


def test_two_tails_below_their_heads_do_not_cross():
    boxes = {name: Size(50.0, 20.0) for name in ("a", "b", "x", "y")}
    # Named so that their order by name would cross.
    layout = lay_out(boxes, [Link("x", "b"), Link("y", "a")], room=500.0)
    left = layout.boxes["a"].left < layout.boxes["b"].left
    assert (layout.boxes["y"].left < layout.boxes["x"].left) is left


def test_a_chain_stands_straight():
    boxes = {name: Size(50.0, 20.0) for name in "abc"}
    layout = lay_out(boxes, [Link("b", "a"), Link("c", "b")], room=500.0)
    assert len({box.middle for box in layout.boxes.values()}) == 1


def test_nothing():
    assert lay_out({}, [], room=100.0).size == Size(0.0, 0.0)


def test_what_can_not_be_laid_out():
    boxes = {"a": Size(1.0, 1.0), "b": Size(1.0, 1.0)}
    with pytest.raises(ValueError, match="no box is called 'c'"):
        lay_out(boxes, [Link("c", "a")], room=100.0)
    with pytest.raises(ValueError, match="cycle"):
        lay_out(boxes, [Link("a", "b"), Link("b", "a")], room=100.0)


@given(
    st.lists(
        st.tuples(st.floats(-100, 100), st.floats(0, 20), st.floats(0.1, 10)),
        min_size=1,
        max_size=8,
    ),
    st.floats(0.0, 150.0),
)
def test_places_are_the_nearest_that_keep_the_order(rows, slack):
    """Against the min-max formula of isotonic regression, clipped to the bounds.

    Barlow, Bartholomew, Bremner, Brunk, Statistical Inference under Order Restrictions (1972).
    """
    wanted, steps, weights = (list(column) for column in zip(*rows, strict=True))
    offsets = [sum(steps[: i + 1]) for i in range(len(steps))]
    shifts = [want - offset for want, offset in zip(wanted, offsets, strict=True)]

    def mean(i, j):
        part = range(i, j + 1)
        return sum(weights[k] * shifts[k] for k in part) / sum(weights[k] for k in part)

    n = len(shifts)
    best = [max(min(mean(i, j) for j in range(k, n)) for i in range(k + 1)) for k in range(n)]
    expected = [o + min(max(b, 0.0), slack) for o, b in zip(offsets, best, strict=True)]
    found = spread(wanted, offsets, slack, weights=weights)
    assert found == pytest.approx(expected, abs=1e-6)
