"""Release systems for tests: the worked example W1, plain covers of every kind, and random ones."""

from dataclasses import replace

from hypothesis import strategies as st

from diagnose.physics.figures import Parameter, figures_of
from diagnose.physics.presets import PRESETS
from diagnose.physics.release_system import ReleaseSystem

_W1 = {
    "pedal_travel": 150.0,
    "pedal_play": 8.25,
    "pedal_ratio": 5.5,
    "master_bore": 22.225,
    "slave_bore": 25.4,
    "fork_ratio": 1.8,
    "reserve": 15.6,
    "diaphragm_ratio": 3.8,
    "finger_load": 3000.0,
    "disc_lift": 0.75,
    "facing_outer": 265.0,
    "facing_inner": 180.0,
    "friction": 0.3,
    "engine_torque": 500e3,
}


def worked_example(*, discs=2, fork="outboard_pivot", cover="push", **figures):
    """W1: constant finger load, no hose swell, a fluid that doesn't give."""
    given = {name: Parameter(value) for name, value in (_W1 | figures).items()}
    return ReleaseSystem(
        "external_slave", cover, fork, discs, cover == "push", figures_of(given), "constant"
    )


def lossless(system):
    """The same system with nothing lost between pedal and fingers."""
    return system.with_figures(
        air=0.0,
        fluid=0.0,
        hose_length=0.0,
        tip_flex=0.0,
        pedal_flex=0.0,
        finger_flex=0.0,
        bearing_drag=0.0,
        pedal_spring=0.0,
        efficiency=1.0,
    )


def with_constant_load(system, load):
    """The same system with a finger load that does not follow the diaphragm."""
    figures = system.with_figures(finger_load=load).figures
    return replace(system, figures=figures, load_model="constant")


@st.composite
def systems(draw):
    """A preset with some of its figures drawn anew, sometimes far from healthy."""
    system = draw(st.sampled_from(sorted(PRESETS)).map(PRESETS.__getitem__))
    changes = {
        "air": st.floats(0.0, 6000.0),
        "pedal_play": st.floats(0.0, 40.0),
        "stack_excess": st.floats(-2.0, 2.0),
        "finger_flex": st.floats(0.0, 0.002),
        "cone_ratio": st.floats(0.0, 2.2),
        "bearing_height": st.floats(-6.0, 12.0),
        "cushion": st.one_of(st.just(0.0), st.floats(0.1, 1.0)),
        "hose_swell": st.floats(0.0, 2.0),
    }
    chosen = draw(st.sets(st.sampled_from(sorted(changes)), max_size=4))
    return system.with_figures(**{name: draw(changes[name]) for name in sorted(chosen)})
