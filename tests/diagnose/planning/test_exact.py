"""The least expected hours against published examples, plain enumeration and the two families.

Sources: T1, T2, T7 and T12 of the engine notes; enumeration over `after` is written out below.
"""

from dataclasses import replace
from itertools import combinations

import numpy as np
import pytest

from diagnose.access import Access
from diagnose.planning.exact import expected_of, solve
from diagnose.planning.problem import (
    DRIVE,
    HAND_OVER,
    Problem,
    Repair,
    Test,
    after,
    hours_of,
)
from tests.bench.families import drawn, least_hours
from tests.diagnose.planning.examples import (
    FULL,
    MEAN,
    SMALL,
    car_start,
    fresh,
    one_fault,
    rows_without,
    t1,
    t2,
    t7,
)


def in_order(problem, order, steps=None):
    """Look at causes in this order, mend what is found, drive, and hand over after some steps."""

    def policy(state):
        if state.mended:
            return DRIVE
        for name in order[:steps]:
            number = next(i for i, test in enumerate(problem.tests) if test.key[1] == name)
            if state.tests[number]:
                return ("check", name)
            if state.weights @ problem.needs[:, number] > 0.999:
                return ("repair", name)
        return HAND_OVER

    return policy


def enumerated(problem, start, *, coupled=False, drives=9, at_last=np.inf):
    """Least expected hours by trying every act in every state; perfect looks where coupled.

    After so many drives in vain another one costs `at_last` and ends it: with inf these are hours
    that some policy takes, with 0 hours that no policy undercuts.
    """
    known = {}

    def least(state, driven, must=None):
        mark = (
            *(np.rint(state.weights * 1e12).tobytes(), state.here, state.mended, driven, must),
            *(state.tests.tobytes(), state.repairs.tobytes()),
        )
        if mark not in known:
            keys = acts(state) if must is None else [must]
            known[mark] = min(act(state, driven, key) for key in keys)
        return known[mark]

    def acts(state):
        yield HAND_OVER
        if state.mended or state.weights[problem.well].sum() > 1e-12:
            yield DRIVE
        for test, left in zip(problem.tests, state.tests, strict=True):
            if left:
                yield test.key
        behind_look = {int(r) for r, p in zip(problem.mends, problem.proofs, strict=True) if p >= 0}
        for number, (repair, left) in enumerate(zip(problem.repairs, state.repairs, strict=True)):
            if left and not (coupled and number in behind_look):
                yield repair.key

    def act(state, driven, key):
        if key == DRIVE:
            driven += 1
        if driven > drives:
            return at_last
        total = hours_of(problem, state, key)
        for chance, then in after(problem, state, key):
            if then is not None:
                total += chance * least(then, driven, called_for(key, then))
        return total

    def called_for(key, state):
        for cause, (look, repair) in enumerate(zip(problem.proofs, problem.mends, strict=True)):
            found = state.weights @ problem.needs[:, cause] > 1.0 - 1e-9
            if coupled and look >= 0 and problem.tests[look].key == key and found:
                return problem.repairs[repair].key
        return None

    return least(start, 0)


ACCESS = Access(("seat", "under", "out"), (0.0, 0.3, 2.0), (0.0, 0.2, 1.5), (True, True, False))


def random_problem(seed, *, perfect=True):
    """Up to two causes, tests that overlap, three levels; fewer of all where repairs may fail."""
    rng = np.random.default_rng(seed)
    n = 3 if perfect else 2
    sets = [(), *combinations(range(n), 1), *combinations(range(n), 2)]
    needs = np.array([[c in s for c in range(n)] for s in sets])
    weights = rng.dirichlet(np.ones(len(sets)))
    if seed % 3:
        weights[0] = 0.0
    looks = [
        Test(
            ("check", f"look {c}"),
            int(rng.integers(3)),
            float(rng.uniform(0.1, 1.0)),
            np.stack([needs[:, c], ~needs[:, c]]) * 1.0,
            frozenset({f"look {c}"}),
        )
        for c in range(1)
    ]
    others = [
        Test(
            ("check", f"test {t}"),
            int(rng.integers(2)),
            float(rng.uniform(0.05, 0.4)),
            rng.dirichlet(np.full(2 + t, 0.4), size=len(sets)).T.copy(),
            frozenset({"both"} if t == 0 else {"both", "more"}),
        )
        for t in range(2 if perfect else 1)
    ]
    repairs = tuple(
        Repair(
            ("repair", f"{c}"),
            int(rng.integers(3)),
            float(rng.uniform(0.3, 2.0)),
            np.eye(n)[c] * (1.0 if perfect else 0.5 + 0.3 * c),
        )
        for c in range(n)
    )
    problem = Problem(
        access=ACCESS,
        needs=needs,
        tests=(*looks, *others),
        repairs=repairs,
        proofs=np.array([0, -1, -1][:n]),
        sees=np.ones(n),
        mends=np.arange(n),
        drive=0.3 if perfect else 1.0,
        hand_over=rng.uniform(4.0, 12.0, len(sets)),
        rest=rows_without(needs),
    )
    return problem, fresh(problem, weights / weights.sum())


class TestOrders:
    """T1 and T2: orders of looking, as policies."""

    @pytest.mark.parametrize(
        ("order", "expected"),
        [("123", 20.6), ("132", 20.3), ("213", 19.1), ("231", 17.6), ("312", 18.8), ("321", 17.3)],
    )
    def test_every_order_of_one_fault(self, order, expected):
        problem, state = t1()
        found = expected_of(problem, state, in_order(problem, order))
        assert found == pytest.approx(expected, abs=1e-9)

    @pytest.mark.parametrize(
        ("service", "expected"),
        [
            (12.0, (12.0, 14.6, 15.8, 17.3)),
            (16.0, (16.0, 17.8, 17.8, 17.3)),
            (30.0, (30.0, 29.0, 24.8, 17.3)),
        ],
    )
    def test_handing_over_after_some_steps(self, service, expected):
        problem, state = t1(service)
        found = [expected_of(problem, state, in_order(problem, "321", k)) for k in range(4)]
        assert found == pytest.approx(expected, abs=1e-9)

    @pytest.mark.parametrize(
        ("service", "expected", "first"),
        [(12.0, 12.0, HAND_OVER), (16.0, 16.0, HAND_OVER), (30.0, 17.3, ("check", "3"))],
    )
    def test_the_optimum_hands_over_where_that_is_cheaper(self, service, expected, first):
        solution = solve(*t1(service), coupled=True)
        assert solution.closed
        assert solution.expected == pytest.approx(expected, abs=1e-9)
        assert solution.first == first

    @pytest.mark.parametrize(
        ("order", "expected"),
        [("ABXYZ", 42.95), ("ABYXZ", 43.20), ("BAXYZ", 43.55), ("XAYBZ", 52.85)],
    )
    def test_orders_behind_an_access(self, order, expected):
        problem, state = t2()
        found = expected_of(problem, state, in_order(problem, order))
        assert found == pytest.approx(expected, abs=1e-9)

    def test_the_optimum_behind_an_access(self):
        solution = solve(*t2(), coupled=True)
        assert solution.closed
        assert solution.expected == pytest.approx(42.95, abs=1e-9)
        assert solution.first == ("check", "A")

    def test_a_policy_that_never_ends_is_refused(self):
        problem, state = t1()
        with pytest.raises(ValueError, match="goes on"):
            expected_of(problem, state, lambda _: DRIVE)


class TestTwoTestsTogether:
    """T7: one test is worth nothing, two are."""

    @pytest.mark.parametrize(
        ("prior", "tests", "expected"),
        [(0.25, 0, 25.0), (0.25, 1, 25.0), (0.25, 2, 20.4), (0.15, 1, 15.0), (0.15, 2, 13.2)],
    )
    def test_the_value_of_noisy_tests(self, prior, tests, expected):
        assert solve(*t7(prior, tests)).expected == pytest.approx(expected, abs=1e-9)

    def test_the_value_of_knowing(self):
        problem, state = t7(0.25, 1)
        perfect = Test(("check", "all"), 0, 0.0, np.eye(3), frozenset({"all"}))
        told = replace(problem, tests=(perfect,))
        assert 25.0 - solve(told, state).expected == pytest.approx(10.0, abs=1e-9)

    def test_a_second_test_is_asked_for_first(self):
        assert solve(*t7(0.25, 2)).first[0] == "check"
        assert solve(*t7(0.25, 1)).first == HAND_OVER


class TestCarStart:
    """T12."""

    def test_what_may_be_wrong(self):
        problem, state = car_start(FULL)
        chance = state.weights @ problem.needs
        stated = [0.602884, 0.180090, 0.108054, 0.072036, 0.036018]
        assert chance[:5] == pytest.approx(stated, abs=1e-6)
        none = ~problem.needs[:, :5].any(axis=1)
        assert state.weights[none].sum() == pytest.approx(0.017026, abs=1e-6)
        several = problem.needs[:, :5].sum(axis=1) >= 2
        assert state.weights[several].sum() == pytest.approx(0.016003, abs=1e-6)

    @pytest.mark.parametrize(
        ("prices", "signs", "coupled", "expected"),
        [
            # Only b, o and t can be looked at or mended, though it may be f or s too.
            (SMALL, ("dipstick",), False, 231.6231),
            (SMALL, ("dipstick",), True, 240.6128),
            (FULL, (), True, 169.3000),
            (FULL, ("lights", "lamp", "dipstick"), True, 152.9985),
            (FULL, ("lights", "lamp", "dipstick"), False, 130.2457),
            (MEAN, (), True, 213.4817),
            (MEAN, ("lights", "lamp", "dipstick"), True, 197.1625),
            (MEAN, ("lights", "lamp", "dipstick"), False, 174.7680),
        ],
    )
    def test_the_optimum(self, prices, signs, coupled, expected):
        solution = solve(*car_start(prices, signs), coupled=coupled)
        assert solution.closed
        assert solution.expected == pytest.approx(expected, abs=1e-3)
        assert solution.lower == pytest.approx(solution.expected, rel=1e-9)

    @pytest.mark.parametrize(("prices", "expected"), [(FULL, 198.5905), (MEAN, 270.0038)])
    def test_repairs_only(self, prices, expected):
        solution = solve(*car_start(prices, (), look=False))
        assert solution.expected == pytest.approx(expected, abs=1e-3)

    def test_it_starts_with_the_lamp_and_then_the_lights(self):
        problem, state = car_start(FULL)
        assert solve(problem, state).first == ("check", "lamp")
        _, (_, off) = after(problem, state, ("check", "lamp"))
        assert solve(problem, off).first == ("check", "lights")

    def test_stopping_after_three_repairs_is_the_published_p_over_c(self):
        """It goes b, o, t and then to the service. 227.62 was drawn, stopped within 2.5 %."""
        problem, state = car_start(FULL, (), look=False)

        def policy(now):
            chance = now.weights @ problem.needs
            left = [k for i, k in enumerate("bot") if chance[i] > 0.0]
            return DRIVE if now.mended else ("repair", left[0]) if left else HAND_OVER

        assert expected_of(problem, state, policy) == pytest.approx(227.62, rel=0.025)


class TestEnumeration:
    @pytest.mark.parametrize("seed", [0, 1, 4])
    def test_with_repairs_that_may_be_in_vain(self, seed):
        """Between what it takes if a fourth drive in vain is all, and if a fifth is for nothing."""
        problem, state = random_problem(seed, perfect=False)
        solution = solve(problem, state, apart=1e-6)
        least = enumerated(problem, state, drives=4, at_last=0.0)
        most = enumerated(problem, state, drives=4)
        assert solution.closed
        assert least <= solution.expected + 1e-9
        assert solution.lower <= most + 1e-9
        assert most - least < 0.07 * most

    def test_one_repair_that_is_in_vain_now_and_then(self):
        """Hours of a repair and a drive, as often as it takes on average: 1 / 0.8 times."""
        problem, state = one_fault([1.0], [1.0], [2.0], service=50.0)
        repair = replace(problem.repairs[0], cures=np.array([0.8]))
        problem = replace(problem, repairs=(repair,), drive=0.5)
        assert solve(problem, state).expected == pytest.approx(2.5 / 0.8, abs=1e-9)

        def policy(now):
            return DRIVE if now.mended else repair.key

        assert expected_of(problem, state, policy) == pytest.approx(2.5 / 0.8, abs=1e-9)

    @pytest.mark.parametrize("seed", [0, 3])
    @pytest.mark.parametrize("coupled", [True, False])
    def test_with_sure_repairs(self, seed, coupled):
        problem, state = random_problem(seed)
        solution = solve(problem, state, coupled=coupled)
        expected = enumerated(problem, state, coupled=coupled)
        assert solution.expected == pytest.approx(expected, rel=1e-9)

    @pytest.mark.parametrize("seed", range(6))
    @pytest.mark.parametrize("perfect", [True, False])
    def test_no_first_act_is_cheaper_with_the_optimum_after_it(self, seed, perfect):
        """Bellman's equation, with the states after each act as `after` gives them."""
        problem, state = random_problem(seed, perfect=perfect)
        solution = solve(problem, state, apart=1e-5)

        def with_first(key):
            total = hours_of(problem, state, key)
            for chance, then in after(problem, state, key):
                if then is not None:
                    total += chance * solve(problem, then, apart=1e-5).expected
            return total

        keys = [HAND_OVER, DRIVE, *(act.key for act in (*problem.tests, *problem.repairs))]
        hours = {key: with_first(key) for key in keys}
        assert min(hours.values()) == pytest.approx(solution.expected, rel=2e-5)
        assert hours[solution.first] == pytest.approx(solution.expected, rel=2e-5)

    @pytest.mark.parametrize("seed", range(4))
    def test_following_its_advice_costs_what_it_says(self, seed):
        problem, state = random_problem(seed)
        found = expected_of(problem, state, lambda now: solve(problem, now).first)
        assert found == pytest.approx(solve(problem, state).expected, rel=1e-9)


class TestStoppedBefore:
    @pytest.mark.parametrize("most", [1, 5, 50, 300])
    def test_the_bounds_hold(self, most):
        problem, state = drawn("A", 0).as_problem()
        solution = solve(problem, state, coupled=True, most=most)
        least = solve(problem, state, coupled=True).expected
        assert solution.states <= most
        assert not solution.closed
        assert solution.lower - 1e-9 <= least <= solution.expected + 1e-9

    def test_they_close_in(self):
        problem, state = drawn("A", 0).as_problem()
        found = [solve(problem, state, coupled=True, most=most) for most in (1, 20, 200, 1000)]
        lower = [s.lower for s in found]
        upper = [s.expected for s in found]
        assert lower == sorted(lower)
        assert upper == sorted(upper, reverse=True)

    @pytest.mark.parametrize("seed", range(3))
    def test_a_policy_bounds_it_from_above(self, seed):
        problem, state = random_problem(seed)

        def upper(now):
            return solve(problem, now).expected + 0.01

        least = solve(problem, state).expected
        stopped = solve(problem, state, most=1, upper=upper)
        assert least - 1e-9 <= stopped.expected <= least + 0.01 + 1e-9
        assert solve(problem, state, upper=upper).expected == pytest.approx(least, rel=1e-9)

    def test_a_bound_that_is_the_optimum_closes_it_at_once(self):
        problem, state = random_problem(1)
        least = solve(problem, state)
        told = solve(problem, state, upper=lambda now: solve(problem, now).expected)
        assert told.closed
        assert told.states < least.states


class TestFamilies:
    """The synthetic families of engine notes 3; the bench goes through more seeds."""

    @pytest.mark.parametrize("seed", range(2))
    @pytest.mark.parametrize("name", ["A", "B"])
    def test_it_equals_the_plain_way(self, name, seed):
        instance = drawn(name, seed)
        solution = solve(*instance.as_problem(), coupled=True)
        assert solution.closed
        assert solution.expected == pytest.approx(least_hours(instance)[0], rel=1e-9)

    def test_a_seed_always_gives_the_same(self):
        assert drawn("A", 3) == drawn("A", 3)
        assert drawn("A", 3) != drawn("A", 4)
        assert drawn("A", 3) != drawn("B", 3)

    @pytest.mark.parametrize(("name", "access"), [("A", (5.0, 15.0)), ("B", (15.0, 40.0))])
    def test_the_access_is_as_many_looks_as_stated(self, name, access):
        for seed in range(20):
            instance = drawn(name, seed)
            ratio = instance.access / np.mean(instance.looks)
            assert access[0] <= ratio <= access[1]
            assert sum(instance.behind) == 4
            assert instance.service == pytest.approx(instance.access + 1.2 * sum(instance.looks))


def test_one_look_that_calls_for_two_repairs_is_refused():
    problem, state = random_problem(0)
    either = problem.needs[:, :2].any(axis=1)
    look = replace(problem.tests[0], likelihood=np.stack([either, ~either]) * 1.0)
    shared = replace(problem, tests=(look, *problem.tests[1:]), proofs=np.array([0, 0, -1]))
    with pytest.raises(ValueError, match="two repairs"):
        solve(shared, state, coupled=True)
