"""Exercises as files: written by hand, shared, and refused in sentences with their line."""

import pytest

from diagnose.practice.exercise import ExerciseError, comeback_of, settled
from diagnose.practice.exercise_file import (
    exercise_text,
    read_exercise_file,
    read_exercise_text,
    write_exercise_file,
)
from tests.diagnose.practice.vehicles import AIR

BY_HAND = """\
pull_once_exercise: 1
title: Drags since the job
setup: plain
words: It won't let go.
complaints: [drags]
causes: [air]
entries:
- {work: bled, answer: bled_no}
seed: 7
note: Ask the class what air does to the first press.
"""
BROKEN = {
    "pull_once_case: 1\n": "is no exercise",
    "": "is no exercise",
    "pull_once_exercise: 2\n": "newer version",
    "pull_once_exercise: first\n": "whole number",
    BY_HAND.replace("[air]", "[aire]"): "did you mean 'air'",
    BY_HAND.replace("causes: [air]\n", ""): "'causes' is missing",
    BY_HAND.replace("causes: [air]", "causes: [air, air]"): "stands here twice",
    BY_HAND.replace("[drags]", "[knocks]"): "None of the causes brings",
    BY_HAND.replace("setup: plain\n", ""): "either 'setup' or 'facts'",
    BY_HAND.replace("work: bled, answer: bled_no", "complaint: drags, answer: yes"): "at the job",
    BY_HAND.replace("answer: bled_no", "answer: maybe"): "is no answer here",
    BY_HAND.replace("seed: 7", "seed: -1"): "by_hand.yaml:9",
    BY_HAND.replace("seed: 7", "sede: 7"): "did you mean 'seed'",
    BY_HAND.replace("note:", "decoy: {cause: air}\nnote:"): "a cause that is not there",
    BY_HAND + "decoy: {cause: disc}\n": "says what misleads",
    BY_HAND + "decoy: {cause: disc, sign: bent}\nsigns: [spongy]\n": "not among the 'signs'",
    BY_HAND.replace("entries:\n- {work: bled, answer: bled_no}\n", "")
    + "decoy: {cause: disc, work: bled}\n": "not among the 'entries'",
    BY_HAND.replace(
        "[air]", "[disc]\nsigns: [long_spin, spongy, bubbles]"
    ): "No check shows “disc”",
    BY_HAND.replace("note:", "kit: {wings: 3 mm}\nnote:"): "wings",
    BY_HAND + "title: again\n": "stands here twice",
}


def test_one_written_by_hand_is_read(small):
    found = read_exercise_text(BY_HAND, "by_hand.yaml", small)
    comeback = comeback_of(small, found)
    assert comeback.causes == {"air"}
    assert [entry.subject for entry in comeback.case.entries] == [
        ("work", "bled"),
        ("complaint", "drags"),
    ]
    assert comeback.case.words == "It won't let go."


@pytest.mark.parametrize(("text", "said"), BROKEN.items())
def test_what_can_not_be_used_is_refused_with_the_reason(small, text, said):
    with pytest.raises(ExerciseError) as caught:
        read_exercise_text(text, "by_hand.yaml", small)
    assert said in str(caught.value)
    assert caught.value.next_step


def test_what_is_shared_is_the_same_vehicle_after_a_round_trip(small, tmp_path):
    path = tmp_path / "air.yaml"
    whole = settled(small, read_exercise_text(BY_HAND, "by_hand.yaml", small))
    for one in (AIR, whole):
        write_exercise_file(path, one)
        assert read_exercise_file(path, small) == one
    assert [p.name for p in tmp_path.iterdir()] == ["air.yaml"]
    assert exercise_text(AIR).startswith("# An exercise")


def test_a_file_that_is_not_there_or_can_not_be_written_is_told(small, tmp_path):
    with pytest.raises(ExerciseError, match="can't be read"):
        read_exercise_file(tmp_path / "none.yaml", small)
    with pytest.raises(ExerciseError, match="could not be saved"):
        write_exercise_file(tmp_path / "no" / "where.yaml", AIR)
