"""A small base to practise on: two zones, a mechanism, cautions, and both kinds of stop notice."""

import pytest

from tests.small_bases import make_base

CAUSES = {
    "air": {
        "rate": 0.3,
        "brings": {"half_release": 0.9},
        "shows": {"spongy": 0.9, "bubbles": 0.95},
        "repair": {"from": "under", "hours": 0.5},
    },
    "cable": {
        "rate": 0.2,
        "brings": {"drags": 0.7},
        "shows": {"play": 0.95, "lever_far": 0.9},
        "repair": {"from": "seat", "hours": 0.3},
    },
    "disc": {
        "rate": 0.25,
        "zone": "inside",
        "brings": {"half_release": 0.8, "judders": 0.6},
        "shows": {"bent": 0.95},
        "repair": {"from": "out", "hours": 1.0},
    },
    "bolts": {
        "rate": 0.15,
        "zone": "inside",
        "brings": {"knocks": 0.8, "judders": 0.5},
        "shows": {"slack": 0.95, "smoky": 0.5},
        "repair": {"from": "out", "hours": 0.8},
    },
}
CHECKS = {
    "pump": {"finding": "spongy", "minutes": 3},
    "spin": {"finding": "long_spin", "minutes": 4, "cautions": ["running"]},
    "rule": {"finding": "play", "minutes": 5},
    "reach": {"finding": "lever_far", "minutes": 4},
    "road_test": {"finding": "on_the_road", "minutes": 20, "cautions": ["road"]},
    "bleed": {"finding": "bubbles", "from": "under", "minutes": 10},
    "smell": {"finding": "smoky", "minutes": 1},
    "turn": {"finding": "bent", "from": "out", "minutes": 10},
    "spanner": {"finding": "slack", "from": "out", "minutes": 5},
    "glove_box": {"finding": "scratched", "minutes": 1},
}
FINDINGS = {
    **{check["finding"]: {} for check in CHECKS.values()},
    "smoky": {"stop": "stop_smoke"},
    "lever_far": {"unexplained": 0.25},  # points to the cable, and proves nothing
}


@pytest.fixture(scope="session")
def small(tmp_path_factory):
    """A base of four causes with one set-up and no facts."""
    return make_base(
        tmp_path_factory.mktemp("practice") / "base",
        cautions={
            "road": {"level": "caution", "text": "Quiet road.", "source": "judgement"},
            "running": {"level": "caution", "text": "Wheels chocked.", "source": "judgement"},
            "dust": {"level": "caution", "text": "No dust.", "source": "judgement"},
            "stop_smoke": {"level": "stop", "text": "Smoke: do not drive.", "source": "judgement"},
            "stop_knock": {"level": "stop", "text": "A knock: switch off.", "source": "judgement"},
        },
        zones={"somewhere": {}, "inside": {"cautions": ["dust"]}},
        setups={"plain": {"facts": {}}},
        complaints={
            "drags": {"words": ["won't let go"]},
            "judders": {},
            "knocks": {"stop": "stop_knock"},
        },
        mechanisms={"half_release": {"brings": {"drags": 0.97}, "shows": {"long_spin": 0.9}}},
        findings=FINDINGS,
        causes=CAUSES,
        checks=CHECKS,
        work={"bled": {"answers": {"bled_no": {"changes": {"air": "likelier"}}}}},
    )
