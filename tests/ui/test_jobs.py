import gc
import threading

import pytest

from ui.jobs import Job, Jobs

PATIENCE = 20_000


@pytest.fixture
def jobs(qtbot):
    made = Jobs()
    yield made
    made.close()


def keep(bag):
    return bag.append


def test_a_result_comes_back_on_this_thread(jobs, qtbot):
    threads = []

    def done(result):
        threads.append((result, threading.current_thread()))

    jobs.start("slot", Job(threading.current_thread, done, pytest.fail))
    qtbot.waitUntil(lambda: bool(threads), timeout=PATIENCE)
    worker, here = threads[0]
    assert here is threading.main_thread()
    assert worker is not threading.main_thread()


def test_an_error_comes_back_whole(jobs, qtbot):
    errors = []
    jobs.start("slot", Job(lambda: 1 / 0, pytest.fail, keep(errors)))
    qtbot.waitUntil(lambda: bool(errors), timeout=PATIENCE)
    assert isinstance(errors[0], ZeroDivisionError)


def test_only_the_newest_result_of_a_slot_counts(jobs, qtbot):
    gate, results, ran = threading.Event(), [], []

    def work(name):
        ran.append(name)
        gate.wait(20)
        return name

    for name in ("first", "second", "third"):
        jobs.start("slot", Job(lambda n=name: work(n), keep(results), pytest.fail))
    gate.set()
    qtbot.waitUntil(lambda: not jobs.busy, timeout=PATIENCE)
    assert results == ["third"]
    assert ran == ["first", "third"]  # what only waited never ran


def test_slots_do_not_stand_in_each_others_way(jobs, qtbot):
    results = []
    jobs.start("one", Job(lambda: 1, keep(results), pytest.fail))
    jobs.start("two", Job(lambda: 2, keep(results), pytest.fail))
    qtbot.waitUntil(lambda: not jobs.busy, timeout=PATIENCE)
    assert sorted(results) == [1, 2]


def test_a_dropped_result_is_not_heard_of(jobs, qtbot):
    gate = threading.Event()
    jobs.start("slot", Job(lambda: gate.wait(20), pytest.fail, pytest.fail))
    jobs.drop("slot")
    gate.set()
    qtbot.waitUntil(lambda: not jobs.busy, timeout=PATIENCE)


def test_busy_is_told_once_each_way(jobs, qtbot):
    told = []
    jobs.busy_changed.connect(told.append)
    jobs.start("one", Job(lambda: 1, keep([]), pytest.fail))
    jobs.start("one", Job(lambda: 2, keep([]), pytest.fail))
    qtbot.waitUntil(lambda: not jobs.busy, timeout=PATIENCE)
    assert told == [True, False]


def test_widgets_are_never_collected_on_a_thread(jobs, qtbot):
    collecting = []
    jobs.start("slot", Job(gc.isenabled, collecting.append, pytest.fail))
    qtbot.waitUntil(lambda: bool(collecting), timeout=PATIENCE)
    assert collecting == [False]
    assert gc.isenabled()


def test_collecting_goes_on_after_closing_early(qtbot):
    gate, made = threading.Event(), Jobs()
    made.start("slot", Job(lambda: gate.wait(20), pytest.fail, pytest.fail))
    gate.set()
    made.close()
    assert gc.isenabled()


def test_no_thread_is_left_after_closing(qtbot):
    made = Jobs()
    made.start("slot", Job(lambda: 1, keep([]), pytest.fail))
    made.close()
    assert not [t for t in threading.enumerate() if t.name.startswith("pull-once")]
    made.start("slot", Job(lambda: pytest.fail("closed"), pytest.fail, pytest.fail))
    assert not made.busy


@pytest.mark.parametrize("way", ["replaced", "dropped", "closed"])
def test_work_that_nobody_waits_for_any_more_can_end_early(qtbot, way):
    made, stale = Jobs(), threading.Event()
    made.start("slot", Job(lambda: stale.wait(20), pytest.fail, pytest.fail, stale.set))
    {
        "replaced": lambda: made.start("slot", Job(lambda: 1, keep([]), pytest.fail)),
        "dropped": lambda: made.drop("slot"),
        "closed": made.close,
    }[way]()
    assert stale.is_set()
    made.close()
