"""What turns at a frequency."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.physics.orders import (
    bands_of,
    firing_order,
    hertz,
    match,
    turning_parts,
)

speeds = st.floats(400.0, 6000.0)


def frequencies(*args, **kwargs):
    return {t.id: t.frequency for t in turning_parts(*args, **kwargs)}


def best(frequency, turning, doubt=0.3):
    found = match(frequency, turning, frequency_uncertainty=doubt, speed_uncertainty=0.02)
    return found[0].turning.id


@pytest.mark.parametrize(("cylinders", "order"), [(3, 1.5), (4, 2.0), (6, 3.0), (8, 4.0)])
def test_firing_order(cylinders, order):  # R-RATTLE-1
    assert firing_order(cylinders) == order


def test_a_hand_example():
    # 1500 rpm, third gear 1.5, axle 4: propshaft 1000 rpm, wheels 250 rpm
    found = frequencies(1500.0, cylinders=6, gear_ratio=1.5, axle_ratio=4.0)
    assert found == pytest.approx(
        {
            "engine_half": 12.5,
            "engine": 25.0,
            "firing": 75.0,
            "input_shaft": 25.0,
            "propshaft": 1000 / 60,
            "joints": 2000 / 60,
            "wheels": 250 / 60,
        }
    )


def test_while_it_slips():
    found = frequencies(900.0, shaft_speed=300.0, gear_ratio=3.0)
    assert found["slip"] == pytest.approx(10.0)
    assert found["input_shaft"] == pytest.approx(5.0)
    assert found["propshaft"] == pytest.approx(100 / 60)


def test_what_stands_is_not_listed():
    assert "input_shaft" not in frequencies(750.0, shaft_speed=0.0, gear_ratio=3.0)
    assert frequencies(750.0, shaft_speed=0.0)["slip"] == pytest.approx(12.5)


@given(speeds, st.sampled_from([0.7, 2.5, 4.0]), st.sampled_from([3.1, 4.5]))
def test_each_part_is_found_by_its_own_frequency(speed, gear, axle):
    turning = turning_parts(speed, cylinders=8, gear_ratio=gear, axle_ratio=axle)
    by_id = {t.id: t.frequency for t in turning}
    for part in turning:
        assert by_id[best(part.frequency, turning)] == pytest.approx(part.frequency)


def test_a_frequency_that_fits_nothing():
    turning = turning_parts(1500.0, cylinders=6)
    found = match(40.0, turning, frequency_uncertainty=0.5, speed_uncertainty=0.02)
    assert not any(m.fits for m in found)
    assert found[0].turning.id in {"engine", "input_shaft"}


def test_doubt_of_speed_widens_with_the_frequency():
    turning = turning_parts(1500.0, cylinders=8)
    found = {
        m.turning.id: m.doubt
        for m in match(100.0, turning, frequency_uncertainty=0.3, speed_uncertainty=0.02)
    }
    assert found["firing"] == pytest.approx((0.3**2 + 2.0**2) ** 0.5)


@pytest.mark.parametrize(
    ("frequency", "bands"),
    [
        (1.9, []),
        (2.0, ["shuffle"]),
        (4.9, ["shuffle"]),
        (5.0, ["shuffle", "judder"]),
        (8.0, ["shuffle", "judder"]),
        (8.1, ["judder"]),
        (20.0, ["judder"]),
        (20.1, []),
        (200.0, ["whoop"]),
        (300.0, ["axle_whine"]),
    ],
)
def test_bands(frequency, bands):  # R-JUDDER-1: 5 to 20 Hz; R-NVH-1: the others
    assert [b.id for b in bands_of(frequency)] == bands


@given(st.floats(300.0, 1200.0))
def test_judder_from_the_crankshaft_at_idle_lies_in_its_band(idle):  # R-JUDDER-1
    assert "judder" in [b.id for b in bands_of(hertz(idle))]


@pytest.mark.parametrize(
    ("arguments", "name"),
    [
        ({"engine_speed": 0.0}, "engine_speed"),
        ({"engine_speed": 800.0, "shaft_speed": -1.0}, "shaft_speed"),
        ({"engine_speed": 800.0, "gear_ratio": 0.0}, "gear_ratio"),
        ({"engine_speed": 800.0, "gear_ratio": 1.0, "axle_ratio": -2.0}, "axle_ratio"),
        ({"engine_speed": 800.0, "cylinders": 0}, "cylinder"),
    ],
)
def test_refused(arguments, name):
    with pytest.raises(ValueError, match=name):
        turning_parts(**arguments)
