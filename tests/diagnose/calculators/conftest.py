"""The command ``gauge``, run as one types it."""

import json

import pytest

from tests.diagnose.calculators.gauging import gauge


@pytest.fixture
def run(capsys):
    def lines(*words):
        capsys.readouterr()
        assert gauge(*words) == 0
        return capsys.readouterr().out

    return lines


@pytest.fixture
def results(run):
    def values(*words):
        data = json.loads(run(*words, "--json"))
        return {key: result["value"] for key, result in data["results"].items()}

    return values
