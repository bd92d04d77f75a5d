"""Each rule fires on a base built for it, and on the clean small base none does."""

from dataclasses import replace

import pytest

from knowledge.lint import RULES, SourceCount, count_sources, lint
from knowledge.load import load_base
from knowledge.marks import Position

CAUSE = (
    "name: {0}, zone: pedal, rate: rare, repair: {{do: Mend it., from: seat, hours: 1}},"
    " about: About., prove: Proof., before_closing: Look., next_time: Look., source: judgement"
)
CHECK = "from: seat, minutes: 1, source: judgement"
WOBBLE = (
    "{id: wobble, name: Wobble, unit: thou, plausible: [0 thou, 99 thou], how: One turn.,"
    " instruments: {dial: {name: dial, uncertainty: 1 thou}},"
    " healthy: {mean: 4 thou, spread: 2 thou}, source: judgement}"
)
VOICES = "do: Do., say: Say., why: Why."


def cause(name: str, links: str) -> str:
    return f"- {{id: {name}, {CAUSE.format(name)}, {links}}}\n"


# rule -> (what is laid over the small base, the messages that it must give)
BROKEN = {
    "unreachable": (
        "complaints: [{id: whines, name: it whines, ask: Does it?, source: judgement}]\n"
        "findings: [{id: sooty, name: sooty, absent: clean, source: judgement}]\n"
        "mechanisms:\n"
        "- {id: floats, name: it floats, brings: {whines: always}, source: judgement}\n"
        "- {id: stops, name: it stops here, source: judgement}\n"
        "causes: [{id: air, brings: {stops: always}}]\n"
        f"checks: [{{id: look, name: Look, {CHECK}, {VOICES},"
        " finding: sooty, 'yes': a, 'no': b}]\n",
        [
            "no cause leads to 'floats'",
            "no cause leads to 'sooty'",
            "no cause leads to 'whines'",
            "'stops' leads to nothing",
        ],
    ),
    "no-complaint": (
        "findings: [{id: sooty, name: sooty, absent: clean, source: judgement}]\n"
        "causes:\n" + cause("dust", "shows: {sooty: always}"),
        ["'dust' leads to no complaint"],
    ),
    "no-proof": (
        "checks: [{id: pump_pedal, when: {release: [cable]}}]\n"  # air needs a cylinder
        "causes: [{id: fork_worn, shows: {fork_grooved: sometimes}},"
        " {id: pivot_worn, shows: {fork_grooved: always}}]\n",
        ["no check can prove 'air'", "no check can prove 'fork_worn'"],
    ),
    "rate-where": (
        "causes:\n- {id: air, rate_where: [{word: rare}]}\n"
        "- {id: disc_bent, rate_where: [{word: rare, when: {release: [cable]}},"
        " {word: common, when: {release: [cable]}}]}\n",
        [
            "a rate of 'air' does not say where it holds",
            "the rates of 'disc_bent' overlap: a vehicle can have two",
        ],
    ),
    "untold": (
        "causes:\n- {id: air, before_closing: ' '}\n"
        "- {id: dust, name: dust, zone: pedal, rate: rare, repair: {do: Mend it., from: seat,"
        " hours: 1}, about: About., prove: Proof., source: judgement}\n",
        [
            "'air' does not say what to check before closing up",
            "'dust' does not say what to check before closing up",
            "'dust' does not say how to avoid it next time",
        ],
    ),
    "idle-check": (
        f"checks:\n- {{id: sniff, name: Sniff, {CHECK}, {VOICES}, answers: ["
        "{id: one, text: one, means: One., shows: {spongy: 'no'}},"
        "{id: two, text: two, means: Two., shows: {spongy: 'no'}}]}\n"
        f"- {{id: stare, name: Stare, {CHECK}, {VOICES}, when: {{release: [cable]}},"
        " finding: spongy, 'yes': a, 'no': b}\n",
        [
            "all answers of 'sniff' say the same",
            "the answers of 'stare' tell no cause from another",
        ],
    ),
    "voices": (
        f"checks:\n- {{id: sniff, name: Sniff, {CHECK}, do: Smell it., say: smell  it., why: Why.,"
        " finding: spongy, 'yes': a, 'no': b}\n- {id: pump_pedal, why: ' '}\n"
        "complaints: [{id: rattles, ask: ' '}]\n",
        [
            "'sniff' does not have a voice of its own in each of do, say, why",
            "'pump_pedal' does not have a voice of its own in each of do, say, why",
            "'rattles' has no question to ask",
        ],
    ),
    "unread-finding": (
        "findings: [{id: sooty, name: sooty, absent: clean, source: judgement}]\n"
        "causes: [{id: air, shows: {sooty: always}}]\n",
        ["no check looks for 'sooty'"],
    ),
    "unread-measurement": (
        f"measurements: [{WOBBLE}]\n"
        "causes: [{id: disc_bent, shifts: {wobble: {by: 1 mm}}}]\n",
        ["no check takes 'wobble'"],
    ),
    "unshifted": (
        f"measurements: [{WOBBLE}]\nchecks:\n- {{id: dial, name: Dial, {CHECK}, {VOICES},"
        " gauge: wobble, answers: ["
        "{id: small, text: small, means: a, below: 8 thou, shows: {disc_runs_out: 'no'}},"
        "{id: large, text: large, means: b, at_least: 8 thou, shows: {disc_runs_out: 'yes'}}]}\n",
        ["no cause shifts 'wobble'"],
    ),
    "gate": (
        "causes: [{id: air, brings: {one_side: always, other_side: always}},"
        " {id: fork_worn, brings: {short_stroke: always}}]\n"
        "mechanisms:\n"
        "- {id: one_side, name: a, brings: {rattles: always}, source: judgement}\n"
        "- {id: other_side, name: b, brings: {rattles: always}, source: judgement}\n"
        "- {id: both, name: c, gate: all, of: [one_side, other_side], brings: {rattles: always},"
        " source: judgement}\n"
        "- {id: twice, name: d, gate: all, of: [disc_bent, disc_bent], brings: {rattles: always},"
        " source: judgement}\n",
        [
            "'air' alone opens the gate 'both': its cut set is not minimal",
            "the gate 'twice' lists an input twice",
            "'disc_bent' alone opens the gate 'twice': its cut set is not minimal",
            "'fork_worn' alone leads to 'short_stroke' as surely as the gate 'fork_off_line' does:"
            " the cut set is not minimal",
        ],
    ),
    "no-caution": (
        "checks: [{id: look_inside, cautions: []}]\n",
        ["'look_inside' is done under the vehicle and has no caution"],
    ),
    "unused": (
        "cautions: [{id: gloves, level: caution, text: Wear gloves., source: judgement}]\n"
        "zones: [{id: boot, name: Boot}]\n"
        "sources: [{id: R-NONE-1, title: Nothing}]\n"
        "levels: [{id: pit, name: in the pit, drivable: true, down: 0, up: 0, source: judgement}]\n"
        "facts: [{id: discs, name: Discs, ask: How many?, source: judgement,"
        " values: {one: {name: one, share: 0.5}, two: {name: two, share: 0.5}}}]\n"
        "work: [{id: waxed, name: Waxed, ask: Was it?, source: judgement,"
        " answers: [{id: done, text: done}]}]\n",
        [
            "nothing uses 'gloves'",
            "nothing uses 'R-NONE-1'",
            "nothing uses 'boot'",
            "nothing uses 'discs'",
            "nothing uses 'pit'",
            "'waxed' changes nothing",
        ],
    ),
    "rate-sum": (
        "causes: [{id: disc_bent, rate: {p: 0.9, source: R-PLAY-1}}]\n",
        ["the rates sum to 1.60 over all set-ups, not to between 1.0 and 1.4"],
    ),
}


def test_the_small_base_is_clean(small_base):
    assert lint(small_base) == ()


def test_every_rule_has_a_base_that_breaks_it():
    assert BROKEN.keys() == RULES.keys()


@pytest.mark.parametrize("rule", RULES)
def test_a_rule_fires(rule, laid_over):
    text, messages = BROKEN[rule]
    found = [issue for issue in lint(laid_over(text)) if issue.rule == rule]
    assert sorted(issue.message for issue in found) == sorted(messages)
    assert {issue.severity for issue in found} == {RULES[rule][0]}


def test_an_issue_shows_place_severity_message_and_rule(laid_over):
    (issue,) = lint(laid_over("zones: [{id: boot, name: Boot}]\n"))
    assert str(issue) == "shop/own.yaml:1:9  warning: nothing uses 'boot' [unused]"
    issue = next(i for i in lint(laid_over(BROKEN["no-caution"][0])) if i.rule == "no-caution")
    assert issue.position == Position("checks.yaml", 33, 3)  # where the record first stands


def test_issues_come_in_the_order_of_their_places(laid_over):
    issues = lint(laid_over(BROKEN["no-caution"][0] + BROKEN["unused"][0]))
    assert len({issue.position.file for issue in issues}) > 1
    assert {issue.rule for issue in issues} == {"no-caution", "unused"}
    assert list(issues) == sorted(issues)


def test_an_answer_that_only_rules_out_proves_nothing(laid_over):
    text = (
        "checks: [{id: pump_pedal, finding: null, 'yes': null, 'no': null, answers: ["
        "{id: firm, text: firm, means: a, shows: {spongy: 'no'}},"
        "{id: soft, text: soft, means: b, shows: {spongy: '%s'}}]}]\n"
    )
    proof = "no check can prove 'air'"
    assert proof not in [issue.message for issue in lint(laid_over(text % "probably"))]
    assert proof in [issue.message for issue in lint(laid_over(text % "probably not"))]


@pytest.mark.parametrize(
    ("own", "unproved"),
    [
        ((), ["disc_bent", "disc_loose", "disc_warped"]),
        (("disc_loose",), ["disc_bent", "disc_warped"]),
        (("disc_loose", "disc_warped"), []),
    ],
)
def test_a_cause_can_be_proved_by_ruling_out_its_rivals(own, unproved, laid_over):
    """Three causes bend the disc; where two have looks of their own, the third needs none."""
    text = "causes:\n"
    for name in ("disc_loose", "disc_warped"):
        look = f", {name}_look: always" if name in own else ""
        links = f"brings: {{hard_to_shift: usually}}, shows: {{disc_runs_out: always{look}}}"
        text += cause(name, links).replace("rate: rare", "rate: common")
    text += "findings:\n" + "".join(
        f"- {{id: {n}_look, name: {n}, absent: not so, source: judgement}}\n" for n in own
    )
    text += "checks:\n" + "".join(
        f"- {{id: look_{n}, name: Look, {CHECK}, {VOICES}, finding: {n}_look, 'yes': a, 'no': b}}\n"
        for n in own
    )
    text = text.replace("findings:\nchecks:\n", "")
    found = [issue.message for issue in lint(laid_over(text)) if issue.rule == "no-proof"]
    assert sorted(found) == [f"no check can prove {name!r}" for name in unproved]


class TestSources:
    def test_by_hand(self, small_base):
        """The small base, counted by hand: records, their strengths, shifts and changes.

        Published: free_play, much_play, the measurement with its limit, cable_long with its rate,
        its two links, its shift and its cure, and the number of fork_grooved. Judgement: scale,
        fact, set-up, gate and its link, fork_worn with rate and link, pivot_worn's own words for
        rattles, fork_grooved, pivot_flat and its unexplained. Common practice: levels, cautions,
        bleeding with two changes and a cure, complaints, short_stroke and its link, air and
        disc_bent with rate and two links each, pivot_worn with rate and link, two findings, two
        checks.
        """
        count = count_sources(small_base)
        assert count.published == 1 + 1 + 2 + 6 + 1
        assert count.judgement == 1 + 1 + 1 + 2 + 3 + 1 + 1 + 2
        assert count.common_practice == 3 + 2 + 4 + 2 + 2 + 4 + 4 + 3 + 2 + 2

    def test_a_word_of_ones_own_counts_by_the_weakest_source_it_stands_on(
        self, laid_over, small_base
    ):
        old = count_sources(small_base)
        new = count_sources(laid_over("findings: [{id: spongy, source: [R-PLAY-1, judgement]}]\n"))
        assert new == replace(
            old, common_practice=old.common_practice - 1, judgement=old.judgement + 1
        )

    def test_the_shipped_base(self, knowledge):
        count = count_sources(knowledge)
        assert isinstance(count, SourceCount)
        assert count.published > 0
        records = sum(
            len(getattr(knowledge, kind)) for kind in ("causes", "checks", "findings", "complaints")
        )
        assert count.published + count.common_practice + count.judgement > records


def test_the_shipped_base_is_clean():
    assert [str(issue) for issue in lint(load_base())] == []


def test_every_repair_off_the_seat_has_its_cautions(knowledge):
    levels = list(knowledge.levels)
    for cause in knowledge.causes.values():
        read = {c.id for c in knowledge.repair_cautions(cause)}
        if levels.index(cause.repair.from_) >= levels.index("under"):
            assert "lifting" in read, cause.id
        if not knowledge.levels[cause.repair.from_].drivable:
            assert {"gearbox_jack", "dust", "battery_off"} <= read, cause.id
        if cause.zone == "hydraulics":
            assert "brake_fluid" in read, cause.id
