"""What stands on the map for a state: groups, what is followed, and the links between boxes."""

import itertools

import pytest

from diagnose.drawings.rows import Size
from diagnose.map import MapGraph, Room, State, place, shown
from knowledge.tree import Tree
from tests.small_bases import make_base

CAUSES = {
    "a": {"brings": {"early": "always"}, "zone": "one"},
    "b": {"brings": {"early": "often", "grinds": "often"}, "zone": "one"},
    "c": {"brings": {"late": "often"}, "zone": "two"},
    "d": {"shows": {"wet": "always"}, "zone": "two"},
}
ZONES = {"one": {}, "two": {}}


@pytest.fixture
def base(tmp_path):
    return make_base(
        tmp_path / "base",
        zones=ZONES,
        complaints={"grinds": {}, "slips": {}},
        findings={"wet": {}},
        mechanisms={
            "early": {"brings": {"late": "always"}},
            "late": {"brings": {"grinds": "always", "slips": "often"}},
        },
        causes=CAUSES,
        checks={"look": {"from": "under", "minutes": 5, "finding": "wet"}},
    )


@pytest.fixture
def graph(base):
    return MapGraph.of(base, {})


def key(name):
    kinds = {"a": "causes", "b": "causes", "c": "causes", "d": "causes", "early": "mechanisms"}
    kinds |= {
        "late": "mechanisms",
        "grinds": "complaints",
        "slips": "complaints",
        "wet": "findings",
    }
    return (kinds[name], name)


def test_every_link_of_the_base_is_a_link_of_the_map(graph, base):
    assert {(link.tail[1], link.head[1]) for link in graph.links} == {
        ("a", "early"),
        ("b", "early"),
        ("b", "grinds"),
        ("c", "late"),
        ("d", "wet"),
        ("early", "late"),
        ("late", "grinds"),
        ("late", "slips"),
    }


def test_causes_stand_with_their_zone_and_findings_with_the_level_they_are_seen_from(graph):
    assert graph.nodes[key("a")].group == ("group", "causes/one")
    assert graph.nodes[key("wet")].group == ("group", "findings/under")
    # Of what leads to m all is of one zone.
    assert graph.nodes[key("early")].group == ("group", "mechanisms/one")


def test_what_is_beyond_and_behind_a_node_is_all_that_links_lead_to(graph):
    assert graph.behind(key("late")) == {key("early"), key("a"), key("b"), key("c")}
    assert graph.beyond(key("a")) == {key("early"), key("late"), key("grinds"), key("slips")}


def test_a_closed_group_stands_for_its_members_and_an_open_one_shows_them(graph):
    closed = shown(graph, State())
    group = ("group", "causes/one")
    assert group in closed.boxes
    assert key("a") not in closed.boxes
    assert closed.stands_for[key("a")] == group
    opened = shown(graph, State().with_group(group, is_open=True))
    assert opened.boxes[group].is_open
    assert opened.stands_for[key("a")] == key("a")
    again = shown(graph, State().with_group(group, is_open=True).with_group(group, is_open=False))
    assert list(again.boxes) == list(closed.boxes)


def test_links_to_a_group_are_joined_and_counted_and_the_strongest_is_told(graph):
    bonds = {(bond.tail, bond.head): bond for bond in shown(graph, State()).bonds}
    joined = bonds[("group", "causes/one"), ("group", "mechanisms/one")]
    assert (joined.count, joined.word, joined.p) == (2, "always", 0.97)


def test_no_link_of_what_is_shown_is_lost_but_inside_a_group(graph):
    content = shown(graph, State())
    home = content.stands_for
    between = [link for link in graph.links if home[link.tail] != home[link.head]]
    assert len(graph.links) - len(between) == 1  # one mechanism brings the other
    assert sum(bond.count for bond in content.bonds) == len(between)


def test_followed_up_only_what_leads_there_is_shown(graph):
    content = shown(graph, State().following(key("slips"), "up"))
    assert set(content.stands_for) == {
        key(name) for name in ("slips", "late", "early", "a", "b", "c")
    }


def test_followed_down_only_what_comes_of_it_is_shown(graph):
    content = shown(graph, State().following(key("d"), "down"))
    assert set(content.boxes) == {key("d"), key("wet")}


def test_few_nodes_are_shown_without_groups_where_one_is_followed(graph):
    content = shown(graph, State().following(key("slips"), "up"))
    assert not any(box.is_group for box in content.boxes.values())


def test_a_set_up_leaves_out_the_causes_it_rules_out(knowledge):
    cable = MapGraph.of(knowledge, {"release": ("cable",)})
    assert ("causes", "air_in_system") not in cable.nodes
    assert ("causes", "air_in_system") in MapGraph.of(knowledge, {}).nodes


def test_of_the_shipped_base_every_record_of_the_tree_is_on_the_map(knowledge):
    graph = MapGraph.of(knowledge, {})
    for kind in ("causes", "mechanisms", "complaints", "findings"):
        assert {name for k, name in graph.nodes if k == kind} == set(getattr(knowledge, kind))
    inside = [name for group in graph.groups.values() for name in group.members]
    assert sorted(inside) == sorted(graph.nodes)


def test_what_is_beyond_a_cause_is_what_the_tree_reaches_from_it(knowledge):
    graph = MapGraph.of(knowledge, {})
    gated = {m.id for m in knowledge.mechanisms.values() if m.of}
    through = {name for m in gated for _, name in graph.beyond(("mechanisms", m))} | gated
    tree = Tree(knowledge, {})
    for cause in ("air_in_system", "disc_bent", "pivot_spacer_left_in"):
        beyond = {name for _, name in graph.beyond(("causes", cause))}
        reached = set(tree.reach((cause,))) - {cause}
        assert reached <= beyond
        assert beyond - reached <= through  # an AND gate takes more than one


def sizes(content):
    return {name: Size(200.0, 30.0) for name in content.boxes}


@pytest.mark.parametrize("state", ["closed", "open", "followed"])
def test_nothing_stands_on_anything_else(knowledge, state):
    graph = MapGraph.of(knowledge, {})
    states = {
        "closed": State(),
        "open": State(opened=frozenset(graph.groups)),
        "followed": State().following(("complaints", "gears_grind"), "up"),
    }
    content = shown(graph, states[state])
    placed = place(content, sizes(content), Room(stages=2))
    assert set(placed.boxes) == set(content.boxes)
    for column in placed.columns:
        for above, below in itertools.pairwise(column):
            assert placed.boxes[above].bottom < placed.boxes[below].top
    edges = [
        (min(placed.boxes[n].left for n in c), max(placed.boxes[n].right for n in c))
        for c in placed.columns
    ]
    assert all(one[1] < other[0] for one, other in itertools.pairwise(edges))
    assert max(box.bottom for box in placed.boxes.values()) <= placed.size.height + 1e-9


def test_links_run_from_left_to_right_or_inside_one_column(knowledge):
    graph = MapGraph.of(knowledge, {})
    content = shown(graph, State().following(("complaints", "gears_grind"), "up"))
    placed = place(content, sizes(content), Room(stages=3))
    column = {name: i for i, names in enumerate(placed.columns) for name in names}
    for curve in placed.curves:
        tail, head = column[curve.bond.tail], column[curve.bond.head]
        assert tail == head if curve.beside else tail < head
        assert curve.points[0][0] == pytest.approx(placed.boxes[curve.bond.tail].right)


def test_a_lane_keeps_clear_of_the_boxes_it_passes(knowledge):
    graph = MapGraph.of(knowledge, {})
    content = shown(graph, State().following(("complaints", "gears_grind"), "up"))
    placed = place(content, sizes(content))
    passed = 0
    for curve in placed.curves:
        for (x1, y1), (x2, y2) in zip(curve.points[1::2], curve.points[2::2], strict=False):
            passed += 1
            assert y1 == y2
            for box in placed.boxes.values():
                if box.left < x2 and box.right > x1:
                    assert not box.top < y1 < box.bottom
    assert passed > 3


def test_beside_a_box_the_other_columns_stand_level_with_it(knowledge):
    graph = MapGraph.of(knowledge, {})
    group, cause = ("group", "causes/cover_discs"), ("causes", "disc_bent")
    content = shown(graph, State().with_group(group, is_open=True))
    screen = Room(screen=500.0)
    apart = place(content, sizes(content), screen)
    level = place(content, sizes(content), screen, beside=cause)
    home = content.stands_for[("mechanisms", "disc_stays_on")]

    def off(placed):
        return abs(placed.boxes[home].top - placed.boxes[cause].top)

    assert off(level) < off(apart)


def test_the_same_map_is_laid_out_the_same_way(knowledge):
    graph = MapGraph.of(knowledge, {})
    content = shown(graph, State(opened=frozenset(graph.groups)))
    again = shown(MapGraph.of(knowledge, {}), State(opened=frozenset(graph.groups)))
    assert place(content, sizes(content)).boxes == place(again, sizes(again)).boxes
