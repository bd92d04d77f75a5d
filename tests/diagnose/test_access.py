"""Ways in and out: from level to level, closing up, and whose hours count."""

import pytest

from diagnose.access import Access, access_for
from diagnose.case import Case
from tests.small_bases import make_base


class TestWays:
    ACCESS = Access(
        ("seat", "under", "out", "apart"),
        (0.0, 0.3, 4.0, 0.5),
        (0.0, 0.2, 3.0, 0.4),
        (True, True, False, False),
    )

    @pytest.mark.parametrize(
        ("here", "there", "expected"),
        [
            (0, 0, (0.0, 0)),
            (0, 2, (4.3, 2)),
            (1, 3, (4.5, 3)),
            (2, 1, (3.0, 1)),
            (3, 0, (3.6, 0)),
            (3, 2, (0.0, 3)),  # with the cover off, what needs the gearbox out can be done too
        ],
    )
    def test_from_level_to_level(self, here, there, expected):
        hours, stands = self.ACCESS.move(here, there)
        assert (hours, stands) == (pytest.approx(expected[0]), expected[1])

    @pytest.mark.parametrize(("here", "hours"), [(0, 0.0), (1, 0.2), (2, 3.2), (3, 3.6)])
    def test_out(self, here, hours):
        assert self.ACCESS.way_out(here) == pytest.approx(hours)

    @pytest.mark.parametrize(
        ("here", "opening"), [(0, (0.0, 0.5, 7.0, 0.9)), (2, (0.0, 0.0, 0.0, 0.9))]
    )
    def test_opening_counts_down_and_up(self, here, opening):
        assert self.ACCESS.opening(here) == pytest.approx(opening)

    def test_names(self):
        assert self.ACCESS.index("out") == 2
        with pytest.raises(ValueError, match="not in"):
            self.ACCESS.index("roof")


class TestHours:
    @pytest.fixture
    def base(self, tmp_path):
        facts = {
            "drive": {
                "values": {
                    "front": {"name": "f", "share": 0.5},
                    "rear": {"name": "r", "share": 0.5},
                }
            }
        }
        return make_base(
            tmp_path,
            facts=facts,
            setups={"van": {"name": "van", "facts": {"drive": ["rear"]}, "hours": {"out": 6.0}}},
        )

    def test_of_the_base(self, base):
        access = access_for(base, Case())
        assert access.down == (0.0, 0.25, 4.0, 0.5)
        assert access.up == (0.0, 0.25, 3.0, 0.5)
        assert access.drivable == (True, True, False, False)

    def test_of_the_set_up_and_the_way_up_with_them(self, base):
        access = access_for(base, Case(setup="van"))
        assert access.down[2] == 6.0
        assert access.up[2] == pytest.approx(4.5)

    def test_the_users_own_come_first(self, base):
        access = access_for(base, Case(setup="van", hours={"out": 2.0}))
        assert access.down[2] == 2.0
        assert access.up[2] == pytest.approx(1.5)
