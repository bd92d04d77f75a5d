"""Release hydraulics against published tables and laws."""

from math import inf, pi

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.physics.hydraulics import (
    ATMOSPHERE,
    HOSE_TEST_PRESSURES,
    air_loss,
    bore_area,
    compression_loss,
    corrected_modulus,
    gas_modulus,
    hose_expansion,
    hose_loss,
    hose_row,
    line_modulus,
    mixture_modulus,
    mixture_modulus_from_free_air,
    pressure_of,
    ring_area,
    slave_travel,
    travel_ratio,
)

INCH = 25.4
PSI = 4.4482216152605 / INCH**2  # R-UNIT-1

pressures = st.floats(0.0, 20.0)
volumes = st.floats(0.0, 1e5)


@pytest.mark.parametrize(
    ("master", "slave", "travel"),
    [
        (0.625, 0.625, 0.250),
        (0.625, 0.750, 0.174),
        (0.625, 0.875, 0.128),
        (0.750, 0.625, 0.360),
        (0.750, 0.750, 0.250),
        (0.750, 0.875, 0.184),
        (0.875, 0.625, 0.490),
        (0.875, 0.750, 0.340),
        (0.875, 0.875, 0.250),
    ],
)
def test_the_table_of_bores(master, slave, travel):  # R-HYD-1, in inches
    moved = slave_travel(0.250 * INCH, bore_area(master * INCH), bore_area(slave * INCH))
    assert moved / INCH == pytest.approx(travel, abs=6e-4)  # the table cuts 0.1276 and 0.1837 short


def test_a_ring_shaped_slave():  # R-HYD-2
    master, ring = bore_area(0.750 * INCH), ring_area(2.0 * INCH, 1.375 * INCH)
    assert master * 1.25 * INCH / INCH**3 == pytest.approx(0.552, abs=5e-4)
    assert ring / INCH**2 == pytest.approx(1.656, abs=1e-3)
    assert slave_travel(1.25 * INCH, master, ring) / INCH == pytest.approx(0.333, abs=5e-4)


def test_pressure_force_and_travel():  # R-HYD-3
    assert pressure_of(45.0, 3.0) == 15.0
    assert 10.0 * bore_area(6.0) == pytest.approx(282.6, rel=1e-3)  # printed with pi = 3.14
    assert 20.0 * travel_ratio(1.0, 5.0) == pytest.approx(4.0)


def test_gas_stiffness_and_boyle():  # R-HYD-5
    assert gas_modulus(0.5) == 0.5
    assert gas_modulus(0.5, 1.4) == pytest.approx(0.7)
    assert 2150.0 / gas_modulus(ATMOSPHERE, 1.4) == pytest.approx(15000, rel=0.02)
    lost = air_loss(1000.0, 3.0)
    assert lost == pytest.approx(967.3, abs=0.05)
    assert 1000.0 - lost == pytest.approx(32.7, abs=0.05)


@pytest.mark.parametrize(("gas", "total"), [(500.0, 41_100.0), (700.0, 53_700.0)])
def test_a_line_with_gas_and_walls(gas, total):  # R-HYD-6 (Merritt), psi
    line = line_modulus(250_000.0, 0.01, gas, container=30e6 / 10)
    assert line == pytest.approx(total, abs=60)


def test_fluid_with_one_per_cent_of_gas():  # R-HYD-6 (Rabie)
    assert mixture_modulus(1500.0, 0.01, 5.0) == pytest.approx(375.9, abs=0.05)


@pytest.mark.parametrize(
    ("factors", "modulus"), [((0.91, 1.10, 0.80), 240_000), ((0.98, 0.86, 0.98), 248_000)]
)
def test_correction_factors(factors, modulus):  # R-HYD-7, psi
    assert corrected_modulus(300_000.0, *factors) == pytest.approx(modulus, abs=500)


def test_the_structure_of_the_hose_table():  # R-HOSE-1: structure only, its limits are unconfirmed
    assert pytest.approx([6.895, 10.342, 19.995], abs=1e-3) == HOSE_TEST_PRESSURES
    assert [hose_row(d) for d in (3.0, 25.4 / 8, 4.8, 6.0, 25.4 / 4)] == [
        "small",
        "small",
        "middle",
        "large",
        "large",
    ]


def test_a_hose_swells_by_its_own_figures():
    figures = (2.0, 3.0, 5.0)  # invented, mm3 per mm
    at = [hose_expansion(500.0, p, figures) for p in (0.0, *HOSE_TEST_PRESSURES)]
    assert at == pytest.approx([0.0, 1000.0, 1500.0, 2500.0])
    further = 2 * HOSE_TEST_PRESSURES[2] - HOSE_TEST_PRESSURES[1]
    assert hose_expansion(500.0, further, figures) == pytest.approx(3500.0)


@given(st.floats(0.0, 0.9), pressures, st.floats(1.0, 1.4))
def test_both_ways_of_telling_the_gas_agree(free_air, pressure, exponent):  # R-HYD-6
    absolute = ATMOSPHERE + pressure
    gas = free_air * (ATMOSPHERE / absolute) ** (1 / exponent)
    from_share = mixture_modulus(1500.0, gas / (1 + gas), absolute, exponent)
    assert mixture_modulus_from_free_air(1500.0, free_air, pressure, exponent) == pytest.approx(
        from_share
    )


@given(volumes, pressures, st.floats(0.01, 5.0))
def test_boyle_holds_and_never_takes_more_than_the_air(volume, pressure, more):
    lost = air_loss(volume, pressure)
    assert (volume - lost) * (ATMOSPHERE + pressure) == pytest.approx(volume * ATMOSPHERE)
    assert 0.0 <= lost <= volume
    assert air_loss(volume, pressure + more) >= lost


@given(pressures, volumes)
def test_what_is_lost_shortens_the_slave(pressure, volume):
    master, slave = bore_area(20.0), bore_area(25.0)
    lost = (
        air_loss(volume, pressure)
        + compression_loss(volume, pressure, 1500.0)
        + hose_loss(400.0, pressure, 0.3)
    )
    short = slave_travel(25.0, master, slave) - slave_travel(25.0, master, slave, lost)
    assert short * slave == pytest.approx(lost, abs=1e-6)


@given(st.floats(1.0, 60.0))
def test_a_ring_without_a_hole_is_a_bore(bore):
    area = pi / 4 * bore**2
    assert (ring_area(bore, 0.0), bore_area(bore)) == pytest.approx((area, area))


def test_values_out_of_range_are_refused_by_name():
    with pytest.raises(ValueError, match="pressure"):
        air_loss(1000.0, -1.0)
    with pytest.raises(ValueError, match="volume"):
        air_loss(-1000.0, 1.0)
    with pytest.raises(ValueError, match="modulus"):
        compression_loss(1.0, 1.0, 0.0)
    with pytest.raises(ValueError, match="outer - inner"):
        ring_area(20.0, 20.0)
    with pytest.raises(ValueError, match="bore"):
        bore_area(inf)
    with pytest.raises(ValueError, match="share"):
        mixture_modulus(1500.0, 1.2, 5.0)
    with pytest.raises(ValueError, match="swells more"):
        hose_expansion(500.0, 1.0, (2.0, 2.0, 5.0))
    with pytest.raises(ValueError, match="area"):
        pressure_of(100.0, 0.0)
