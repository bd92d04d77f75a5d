"""How far what was learned is used, and whether it is true over many closings."""

from dataclasses import replace

import numpy as np
import pytest

from diagnose.assess import assess
from diagnose.case import Case, Entry
from diagnose.learning import Closing, replay
from diagnose.learning.trust import shipped_belief
from diagnose.learning.words import SPREADS, word_laws
from diagnose.network import UNKNOWN
from diagnose.simulate import draw
from tests.small_bases import make_base

LOOKS = ("spongy", "grooved", "dull", "glazed")


@pytest.fixture(scope="module")
def base(tmp_path_factory):
    """Words in links and leaks, complaints and looks that causes share, a choice beside them."""
    return make_base(
        tmp_path_factory.mktemp("trust") / "base",
        scale={
            "strength": {"always": 0.97, "usually": 0.8, "often": 0.5, "seldom": 0.1},
            "rate": {"common": 0.2, "rare": 0.05},
        },
        complaints={"drags": {"unexplained": 0.02}, "noisy": {"unexplained": 0.02}},
        findings={name: {"unexplained": "seldom"} for name in (*LOOKS, "loose")},
        mechanisms={"slow": {"brings": {"drags": "usually"}, "shows": {"dull": "often"}}},
        causes={
            "air": {"brings": {"slow": "usually"}, "shows": {"spongy": "often"}},
            "fork": {"brings": {"drags": "usually"}, "shows": {"grooved": "often"}},
            "pivot": {
                "brings": {"drags": "often", "noisy": "seldom"},
                "shows": {"dull": "usually", "loose": "often"},
            },
            "bent": {"brings": {"noisy": "usually"}, "rate": "rare", "shows": {"glazed": "seldom"}},
            "greased": {"brings": {"noisy": "often"}, "rate": "rare", "shows": {"glazed": "often"}},
        },
        checks={
            **{f"look_{name}": {"finding": name} for name in LOOKS},
            "feel": {
                "answers": {
                    "soft": {"spongy": "yes"},
                    "play": {"loose": "yes", "grooved": "probably"},
                    "firm": {"spongy": "no", "loose": "no"},
                }
            },
        },
    )


def drawn_closings(true, number, rng):
    """Comebacks of a truth, each with some answers, closed with what had to be put right."""
    checks = (*(f"look_{name}" for name in LOOKS), "feel")
    closings = []
    while len(closings) < number:
        drawn = draw(true, Case(), rng)
        found = drawn.needed or drawn.causes - {UNKNOWN}
        if found:
            case = drawn.case
            for check in rng.choice(checks, 4, replace=False).tolist():
                case = case.with_entry(drawn.answer(check))
            closings.append(Closing(str(len(closings)), case, (found,), "part seen"))
    return closings


def with_words(base, **strengths):
    scale = base.scale.model_copy(update={"strength": {**base.scale.strength, **strengths}})
    return replace(base, scale=scale)


@pytest.fixture(scope="module")
def many(base):
    """1000 closings of a base whose words are right."""
    return replay(base, drawn_closings(base, 1000, np.random.default_rng(1))).belief


class TestManyClosings:
    def test_each_word_of_a_right_base_stays_within_its_scatter(self, base, many):
        for key, law in many.words.items():
            assert law.size > 1.3 * word_laws(base)[key].size, key  # something was seen of each
            shipped = base.scale.strength[key[1]]
            assert abs(law.mean - shipped) < 3.0 * law.variance**0.5, key

    def test_words_that_are_off_are_found(self, base):
        """Links and leaks share their words here, so the truth moves both."""
        off = {"often": 0.7, "seldom": 0.2, "usually": 0.6}
        closings = drawn_closings(with_words(base, **off), 400, np.random.default_rng(3))
        for key, law in replay(base, closings).belief.words.items():
            assert abs(law.mean - off[key[1]]) < 3.0 * law.variance**0.5, key

    def test_rates_of_a_right_base_stay_within_their_scatter(self, many):
        for laws in many.rates[1:]:
            for key, law in laws.items():
                assert abs(law.mean - 1.0) < 3.0 * law.mean / law.shape**0.5, key


class TestTrust:
    def test_of_a_right_base_the_widest_spread_loses_against_the_rates_as_shipped(self, base):
        scores = [
            replay(base, drawn_closings(base, 200, np.random.default_rng(seed))).belief.rate_scores
            for seed in (20, 21, 22, 23)
        ]
        shipped, widest = np.sum(scores, axis=0)[[SPREADS.index(None), SPREADS.index(1.0)]]
        assert np.exp(widest - shipped) < 0.05

    def test_a_base_that_is_off_loses_its_weight(self, base):
        off = {"greased": 0.2, "fork": 0.02}
        causes = {
            name: c.model_copy(
                update={"rate": c.rate.model_copy(update={"word": "", "p": off[name]})}
            )
            if name in off
            else c
            for name, c in base.causes.items()
        }
        closings = drawn_closings(replace(base, causes=causes), 100, np.random.default_rng(6))
        learned = replay(base, closings)
        assert learned.belief.spreads[SPREADS.index(None)] < 0.05
        numbers = {c: learned.numbers["cause", c] for c in ("greased", "fork")}
        assert numbers["greased"] > 2.0 * base.scale.rate["rare"]
        assert numbers["fork"] < 0.5 * base.scale.rate["common"]

    def test_a_closing_is_scored_before_it_is_learned_by_the_chance_of_an_assessment(self, base):
        """The assessment counts any number of causes, the score up to two."""
        case = Case().with_entry(Entry(complaint="noisy", answer="yes"))
        case = case.with_entry(Entry(check="look_glazed", answer="yes"))
        closing = Closing("1", case, (frozenset(("greased",)),), "part seen")
        belief = replay(base, [closing]).belief
        shipped, learned = belief.word_scores
        assert learned == pytest.approx(shipped, abs=1e-9)  # nothing was learned before
        assert np.exp(shipped) == pytest.approx(assess(base, case).cause("greased").p, abs=0.03)

    def test_rates_are_scored_by_the_share_of_what_was_found(self, base):
        """By the rates as shipped: each cause by its chance to be behind a comeback."""
        closing = Closing("1", Case(), (frozenset(("greased",)),), "part seen")
        scores = replay(base, [closing]).belief.rate_scores
        rng = np.random.default_rng(9)
        names = [c for _ in range(4000) for c in draw(base, Case(), rng).causes if c != UNKNOWN]
        share = names.count("greased") / len(names)
        assert np.exp(scores) == pytest.approx(np.full(len(SPREADS), share), abs=0.02)

    def test_numbers_are_the_means_over_what_they_may_be(self, base):
        belief = replay(base, drawn_closings(base, 30, np.random.default_rng(7))).belief
        numbers, trust = belief.numbers(), belief.trust
        assert 0.0 < trust < 1.0
        assert belief.spreads.sum() == pytest.approx(1.0)
        often = belief.words["link", "often"].mean
        assert numbers["link", "often"] == pytest.approx(trust * often + (1 - trust) * 0.5)
        surely = np.where(np.eye(len(SPREADS)) > 0.0, 0.0, -1e4)
        alone = [replace(belief, rate_scores=scores).numbers() for scores in surely]
        assert alone[0]["cause", "air"] == base.scale.rate["common"]
        for cause in base.causes:
            each = [one["cause", cause] for one in alone]
            assert numbers["cause", cause] == pytest.approx(belief.spreads @ each)

    def test_the_rates_of_all_causes_together_stay(self, base):
        learned = replay(base, drawn_closings(base, 30, np.random.default_rng(8)))
        total = sum(base.rate(c.rate) for c in base.causes.values())
        assert sum(learned.numbers["cause", c] for c in base.causes) == pytest.approx(total)

    def test_before_any_closing_every_number_is_the_shipped_one(self, base):
        belief = shipped_belief(base)
        for (kind, name), number in belief.numbers().items():
            scale = base.scale.rate if kind == "rate" else base.scale.strength
            assert number == (base.rate(base.causes[name].rate) if kind == "cause" else scale[name])
