"""The drawings of the shipped base and of trees made at random: readable, and nothing missing."""

from itertools import combinations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.drawings.cards import (
    Bond,
    Card,
    Cards,
    Group,
    Leaf,
    Ways,
    complaint_cards,
    overview_cards,
)
from diagnose.drawings.trees import ROOM, draw_tree, weight_of
from tests.small_bases import make_base

SLACK = 1e-6


def meeting(ones, others):
    """Pairs of rectangles (rows of left, top, right, bottom) that lie on top of each other."""
    a, b = ones[:, None, :], others[None, :, :]
    over = (a[..., :2] < b[..., 2:] - SLACK) & (b[..., :2] < a[..., 2:] - SLACK)
    return np.argwhere(over.all(axis=2)).tolist()


def corners(boxes):
    rows = [(box.left, box.top, box.right, box.bottom) for box in boxes]
    return np.array(rows, dtype=float).reshape(-1, 4)


def lines_of(drawing):
    """The straight pieces of all lines, a hair thick."""
    hair = 0.01
    upright = [
        (run.x - hair, run.above, run.x + hair, run.below)
        for stroke in drawing.strokes
        for run in stroke.runs
    ]
    bars = [(b.x1 - hair, b.y1 - hair, b.x2 + hair, b.y2 + hair) for b in drawing.bars]
    return np.array([*upright, *bars], dtype=float).reshape(-1, 4)


def faults(drawing):
    """Labels on top of each other or of a line, or beyond the edge of the drawing."""
    labels = corners(label.box for label in drawing.labels)
    over = [pair for pair in meeting(labels, labels) if pair[0] < pair[1]]
    crossed = meeting(labels, lines_of(drawing))
    both = np.vstack([labels, corners(frame.box for frame in drawing.frames)])
    beyond = (both[:, :2] < -SLACK) | (both[:, 2:] > np.array(drawing.size) + SLACK)
    words = [label.words for label in drawing.labels]
    return [
        *((words[i], words[j]) for i, j in over),
        *((words[i], "line") for i, _ in crossed),
        *((both[i].tolist(), "edge") for i in np.flatnonzero(beyond.any(axis=1))),
    ]


def loose(drawing):
    """Labels that stand in no card."""
    cards = corners(frame.box for frame in drawing.frames)
    labels = corners(label.box for label in drawing.labels)
    inside = (labels[:, None, :2] >= cards[None, :, :2]) & (
        labels[:, None, 2:] <= cards[None, :, 2:]
    )
    held = inside.all(axis=2).any(axis=1)
    return [label.words for label, is_held in zip(drawing.labels, held, strict=True) if not is_held]


@pytest.fixture(scope="module")
def ways(knowledge):
    return Ways(knowledge)


@pytest.mark.parametrize("room", [374.0, ROOM, 1400.0])
def test_drawings_of_all_complaints_are_clear(knowledge, ways, room):
    for complaint in knowledge.complaints:
        for most in (None, 24):
            drawing = draw_tree(complaint_cards(ways, complaint, (), most=most), room=room)
            assert faults(drawing) == [], complaint


@pytest.mark.parametrize("room", [374.0, ROOM, 1400.0])
def test_the_overview_is_clear(knowledge, ways, room):
    drawing = draw_tree(overview_cards(ways), room=room)
    assert faults(drawing) == []
    named = {label.link for label in drawing.labels}
    assert {f"#mechanisms-{name}" for name in knowledge.mechanisms} <= named


def test_what_is_unclear_is_found(ways, knowledge):
    drawing = draw_tree(complaint_cards(ways, next(iter(knowledge.complaints)), ()))
    first = drawing.labels[0]
    moved = first._replace(x=first.x + 3.0, words="again")
    assert faults(type(drawing)(**{**vars(drawing), "labels": (*drawing.labels, moved)}))
    beyond = first._replace(x=drawing.size.width)
    assert faults(type(drawing)(**{**vars(drawing), "labels": (beyond,)}))


def drawn_causes(content):
    return [
        leaf.key[1]
        for card in content.cards
        for group in card.groups
        for leaf in group.leaves
        if leaf.key[0] == "causes"
    ]


@pytest.mark.parametrize("most", [None, 0, 1, 24])
def test_every_cause_that_leads_there_is_drawn_or_counted(knowledge, ways, most):
    for complaint in knowledge.complaints:
        content = complaint_cards(ways, complaint, (), most=most)
        behind = {n for n in ways.behind(complaint) if n in knowledge.causes}
        drawn, left_out = set(drawn_causes(content)), set(content.left_out)
        assert drawn | left_out == behind
        assert not drawn & left_out
        assert len(content.left_out) == len(left_out)
        if most is not None:
            gated = {n for m in knowledge.mechanisms.values() for n in m.of}
            assert len(drawn - gated) <= most


def test_what_leads_to_a_complaint_is_what_the_inference_says(knowledge, ways, compiled):
    """A cause that alone can turn a complaint on is behind it, and no other is without a gate."""
    gated = {n for m in knowledge.mechanisms.values() for n in m.of}
    for complaint in knowledge.complaints:
        column = compiled.q[:, compiled.finding_index[complaint]]
        reaching = {name for name in knowledge.causes if column[compiled.cause_index[name]] > 0.0}
        behind = {n for n in ways.behind(complaint) if n in knowledge.causes}
        assert reaching <= behind
        assert behind - reaching <= gated | {
            name for gate in gated for name in ways.behind(gate) if name in knowledge.causes
        }


@pytest.fixture(scope="module")
def compiled(knowledge):
    from diagnose.network import compile_network

    return compile_network(knowledge, {})


class TestContent:
    @pytest.fixture(scope="class")
    @staticmethod
    def base(tmp_path_factory):
        """Air and a leak make the stroke short; grease needs heat beside it; a cable only frays."""
        return make_base(
            tmp_path_factory.mktemp("base") / "base",
            facts={
                "release": {
                    "name": "How it is worked",
                    "values": {
                        "cable": {"name": "cable", "share": 0.5},
                        "hose": {"name": "hose", "share": 0.5},
                    },
                }
            },
            complaints={"drags": {}, "smells": {}},
            mechanisms={
                "short": {"brings": {"drags": "often"}},
                "burnt": {"gate": "all", "of": ["grease", "hot"], "brings": {"smells": "always"}},
                "two_of": {
                    "gate": "at_least",
                    "k": 2,
                    "of": ["air", "leak", "frayed"],
                    "when": {"release": ["hose"]},
                    "brings": {"smells": "hardly ever"},
                },
            },
            causes={
                "air": {"brings": {"short": "always", "drags": "hardly ever"}},
                "leak": {"brings": {"short": 0.25}},
                "frayed": {"brings": {"short": {"word": "often", "when": {"release": ["cable"]}}}},
                "grease": {"brings": {"drags": "hardly ever"}},
                "hot": {"brings": {"drags": "never"}},
            },
        )

    @pytest.fixture(scope="class")
    @staticmethod
    def cards(base):
        def made(complaint, order=(), **options):
            content = complaint_cards(Ways(base), complaint, order, **options)
            return content, {card.key[1]: card for card in content.cards}

        return made

    def test_a_cause_hangs_where_its_strongest_way_begins(self, cards):
        _, drawn = cards("drags")
        (group,) = drawn["short"].groups
        assert group.title == "Somewhere"
        # 0.97 x 0.5 by way of the short stroke, 0.02 straight.
        assert [(leaf.name, leaf.word) for leaf in group.leaves] == [
            ("Air", "always"),
            ("Frayed", "often"),
            ("Leak", "25 in 100"),
        ]
        assert [leaf.name for leaf in drawn["drags"].groups[0].leaves] == ["Grease"]

    def test_a_condition_is_told(self, cards):
        _, drawn = cards("drags")
        notes = {leaf.name: leaf.note for leaf in drawn["short"].groups[0].leaves}
        assert notes == {"Air": "", "Leak": "", "Frayed": "how it is worked – cable"}

    def test_what_is_never_brought_is_not_drawn(self, cards):
        content, _ = cards("drags")
        assert "hot" not in drawn_causes(content)
        assert content.left_out == ()

    def test_gates_have_their_names(self, cards):
        _, drawn = cards("smells")
        assert drawn["burnt"].gate == ("AND gate: both of these together",)
        assert drawn["two_of"].gate == (
            "Voting gate: at least 2 of these 3",
            "INHIBIT gate: only where how it is worked – hose",
        )
        assert drawn["smells"].gate == ()
        assert [leaf.name for leaf in drawn["burnt"].groups[0].leaves] == ["Grease", "Hot"]
        assert all(leaf.word == "" for leaf in drawn["burnt"].groups[0].leaves)

    def test_the_likeliest_are_drawn_first(self, cards):
        content, drawn = cards("drags", ("leak", "grease"), most=1)
        assert [leaf.name for leaf in drawn["short"].groups[0].leaves] == ["Leak"]
        assert content.left_out == ("grease", "air", "frayed")
        assert "3 more lead there too" in content.about

    def test_a_mechanism_without_a_drawn_cause_is_left_out(self, cards):
        _, drawn = cards("drags", ("grease",), most=1)
        assert set(drawn) == {"drags"}

    def test_bonds_have_the_word_of_the_scale(self, cards):
        content, _ = cards("drags")
        assert content.bonds == (
            Bond(("mechanisms", "short"), ("complaints", "drags"), ("often",), 0.5),
        )

    def test_the_drawing_says_gates_and_words(self, cards):
        content, _ = cards("smells")
        said = " ".join(label.words for label in draw_tree(content).labels)
        for words in ("AND gate: both of these together", "Voting gate: at least 2 of these 3"):
            assert words in said

    def test_the_stronger_the_heavier(self, cards):
        content, _ = cards("drags")
        weights = {bar.weight for bar in draw_tree(content).bars}
        assert {weight_of(0.97), weight_of(0.5), weight_of(0.25), weight_of(0.02)} <= weights
        assert weight_of(0.97) > weight_of(0.5) > weight_of(0.02) > 0.0

    def test_the_overview_names_what_each_mechanism_brings(self, base):
        content = overview_cards(Ways(base))
        leaves = {
            card.key[1]: [(leaf.key, leaf.word) for g in card.groups for leaf in g.leaves]
            for card in content.cards
        }
        assert leaves == {
            "short": [(("complaints", "drags"), "often")],
            "burnt": [(("complaints", "smells"), "always")],
            "two_of": [(("complaints", "smells"), "hardly ever")],
        }


names = st.text(st.characters(exclude_categories=("Cc", "Cs")), min_size=1, max_size=90)
chances = st.floats(0.0, 1.0)


@st.composite
def contents(draw):
    """Cards at random, with words of any length; bonds run up."""
    n = draw(st.integers(1, 7))
    keys = [("complaints", "top"), *(("mechanisms", f"m{i}") for i in range(1, n))]
    leaf = st.builds(
        Leaf, st.just(("causes", "c")), names, names, chances, st.one_of(st.just(""), names)
    )
    group = st.builds(Group, st.one_of(st.just(""), names), st.lists(leaf, min_size=1, max_size=4))
    cards = [
        Card(
            key,
            draw(names),
            top=key == keys[0],
            gate=tuple(draw(st.lists(names, max_size=1))),
            groups=tuple(draw(st.lists(group, max_size=2))),
        )
        for key in keys
    ]
    pairs = list(combinations(range(n), 2))
    chosen = draw(st.lists(st.sampled_from(pairs), unique=True)) if pairs else []
    bonds = [Bond(keys[late], keys[early], (draw(names),), draw(chances)) for early, late in chosen]
    return Cards("title", "about", tuple(cards), tuple(bonds))


@given(contents(), st.floats(200.0, 1500.0))
def test_drawings_of_any_tree_are_clear(content, room):
    assert faults(draw_tree(content, room=room)) == []


def test_words_of_cards_stay_inside_their_cards(knowledge, ways):
    for complaint in knowledge.complaints:
        content = complaint_cards(ways, complaint, ())
        words = {w for bond in content.bonds for w in bond.words[0].split()}
        outside = {w for words_ in loose(draw_tree(content)) for w in words_.split()}
        assert outside <= words
