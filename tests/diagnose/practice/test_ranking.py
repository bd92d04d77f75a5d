"""Scoring ranks simulated novices; a small version of `tests/bench/bench_practice.py`."""

import numpy as np
import pytest

from diagnose.practice.appraisal import appraise
from diagnose.practice.run import begin
from tests.bench.bench_practice import (
    NOVICES,
    Played,
    Pool,
    left_to_look_at,
    looks,
    read_rows,
    regrets,
    share_ranked_rightly,
)
from tests.diagnose.practice.vehicles import exercise, moved


@pytest.fixture(scope="module")
def played(small):
    pool = Pool(small)
    return [result for number in range(12) for result in pool.played(number)]


def test_who_sees_the_planners_figures_is_told_from_who_does_not(played):
    table = regrets(played)
    assert table.shape == (12, 3)
    # Random and greedy are not told apart: of four causes neither has much to choose from.
    for worse in (0, 1):
        assert share_ranked_rightly(table[:, [worse, 2]]) >= 0.95


def test_regret_ranks_as_the_hours_do_that_were_really_lost(played):
    lost = regrets(played, "minutes") - regrets(played, "least")
    assert (
        np.argsort(regrets(played).mean(axis=0)).tolist() == np.argsort(lost.mean(axis=0)).tolist()
    )


def test_a_suspect_is_looked_at_from_the_seat_before_anything_is_opened_for_it(small):
    """The disc is inside, and shows from the seat as well, by a long spin."""
    at = appraise(begin(small, exercise(["disc"], ["drags"], ["bent"])).shop, refined=False)
    assert looks(at, ["disc"]) == ["spin", "turn"]


def test_with_the_gearbox_out_nobody_builds_it_in_for_a_look(small):
    causes = list(small.causes)
    hidden = exercise(["bolts"], ["judders"], ["slack"])
    whole = appraise(begin(small, hidden).shop, refined=False)
    opened = appraise(moved(small, hidden, ("check", "turn")).shop, refined=False)
    assert {small.checks[c].from_ for c in left_to_look_at(whole, causes)} == {
        "seat",
        "under",
        "out",
    }
    assert {small.checks[c].from_ for c in left_to_look_at(opened, causes)} == {"out"}


def test_the_same_seed_plays_the_same(played, small):
    assert list(Pool(small).played(1)) == played[3:6]


def test_a_set_ranks_rightly_only_if_every_novice_beats_the_one_before():
    falling = np.tile([3.0, 2.0, 1.0], (12, 1))
    assert share_ranked_rightly(falling) == 1.0
    assert share_ranked_rightly(falling[:, ::-1]) == 0.0
    assert share_ranked_rightly(falling[:, [0, 0, 2]]) == 0.0  # a tie is not right


def test_results_on_disk_are_read_again_without_the_line_that_was_broken_off(tmp_path):
    path = tmp_path / "run.json"
    about = {"seed": 1}
    assert read_rows(path, about) == []
    row = Played(0, "single", next(iter(NOVICES)), 1.0, 2.0, 1.0, 3, "verified")
    line = str(row._asdict()).replace("'", '"')
    path.write_text(path.read_text() + line + "\n" + line[:20], encoding="utf-8")
    assert read_rows(path, about) == [row]
    with pytest.raises(SystemExit):
        read_rows(path, {"seed": 2})
