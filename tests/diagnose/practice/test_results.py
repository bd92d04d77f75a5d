"""Results: nothing is lost or changed, and a spreadsheet runs nothing of what was typed."""

import csv
import io
import json

import pytest

from diagnose.practice.exercise import ExerciseError
from diagnose.practice.results import (
    append_result,
    by_apprentice,
    csv_text,
    read_results,
    result_of,
    write_csv,
)
from diagnose.practice.scoring import score
from tests.diagnose.practice.vehicles import AIR, moved


@pytest.fixture(scope="module")
def result(small):
    found = score(moved(small, AIR, ("check", "pump")))
    return result_of("Odrin", AIR, found, at="2024-05-01 10:00", planner_minutes=80.0)


def test_results_are_added_and_read_in_order(result, tmp_path):
    path = tmp_path / "results.jsonl"
    assert read_results(path).results == ()
    again = result.model_copy(update={"apprentice": "Maive", "at": "later"})
    for one in (result, again, result):
        append_result(path, one)
    assert read_results(path).results == (result, again, result)
    assert {k: len(v) for k, v in by_apprentice(read_results(path).results).items()} == {
        "Odrin": 2,
        "Maive": 1,
    }


def test_a_line_that_was_broken_off_spoils_no_other(result, tmp_path):
    path = tmp_path / "results.jsonl"
    append_result(path, result)
    whole = path.read_bytes()
    path.write_bytes(whole + whole[:40])
    append_result(path, result)
    found = read_results(path)
    assert (found.results, found.broken) == ((result, result), 1)
    assert path.read_bytes().startswith(whole)


def test_what_is_no_list_of_results_is_refused(result, tmp_path):
    path = tmp_path / "results.jsonl"
    path.write_text("dear diary\n", encoding="utf-8")
    with pytest.raises(ExerciseError, match="no list of results"):
        read_results(path)
    with pytest.raises(ExerciseError, match="could not be added"):
        append_result(tmp_path / "no" / "where", result)


@pytest.mark.parametrize("name", ["=1+1", "+49", "-2", "@SUM(A1)", "\t=1", " =1", "＝1", "\r=1"])
def test_text_that_looks_like_a_formula_is_kept_as_text(result, name):
    rows = list(csv.DictReader(io.StringIO(csv_text([_named(result, name)]), newline="")))
    assert rows[0]["apprentice"] == f"'{name}"


@pytest.mark.parametrize("name", ["Odrin, the 2nd", 'O "Odi"', "two\nlines", "Ümril"])
def test_other_text_comes_back_as_it_was(result, name):
    rows = list(csv.DictReader(io.StringIO(csv_text([_named(result, name)]), newline="")))
    assert rows[0]["apprentice"] == name
    assert (rows[0]["the planner's minutes"], rows[0]["a check-list's minutes"]) == ("80.0", "")
    assert (rows[0]["minutes paid"], rows[0]["solved"]) == ("3.0", "no")


def test_the_table_is_written_for_spreadsheets(result, tmp_path):
    path = tmp_path / "results.csv"
    write_csv(path, [result])
    assert path.read_bytes().startswith(b"\xef\xbb\xbfapprentice,")
    assert path.read_bytes().count(b"\r\n") == 2


def _named(result, name):
    return result.model_copy(update={"apprentice": name})


def test_a_result_that_did_not_count_pulls_yet_is_read(result, tmp_path):
    path = tmp_path / "results.jsonl"
    fields = result.model_dump(mode="json")
    del fields["pulls"]
    path.write_text(json.dumps(fields) + "\n", encoding="utf-8")
    (found,) = read_results(path).results
    assert found.pulls is None
    assert result.pulls == 0
