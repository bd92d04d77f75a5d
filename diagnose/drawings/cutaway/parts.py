"""On which parts of the drawing a cause lies.

A cause is marked on the part that has to be seen to. That is not always where its figures show:
a slave that leaks lets air into the line, yet it is the slave that is at fault.
"""

from collections.abc import Mapping
from types import MappingProxyType

# The part that a figure is drawn on. What is not here (friction, engine torque) can't be seen.
PART_OF: Mapping[str, str] = MappingProxyType(
    {
        **dict.fromkeys(
            ("pedal_travel", "pedal_play", "pedal_ratio", "pedal_flex", "pedal_spring"), "pedal"
        ),
        "efficiency": "line",
        "master_bore": "master",
        "slave_bore": "slave",
        "slave_core": "slave",
        **dict.fromkeys(
            ("air", "fluid", "fluid_modulus", "fluid_lost", "hose_length", "hose_swell"), "line"
        ),
        "linkage_ratio": "line",
        "tip_play": "rod",
        "tip_flex": "rod",
        "actuator_stroke": "fork",
        "fork_ratio": "fork",
        "fork_offset": "fork",
        "back_stop": "rod",
        "pivot_height": "pivot",
        "reserve": "bearing",
        "running_gap": "bearing",
        "bearing_height": "bearing",
        "bearing_drag": "bearing",
        **dict.fromkeys(
            ("finger_height", "finger_offset", "finger_spread", "finger_flex", "cover_travel"),
            "fingers",
        ),
        **dict.fromkeys(("load_factor", "flat_load", "cone_height", "cone_ratio"), "fingers"),
        "set_deflection": "fingers",
        "stack_excess": "disc",
        **dict.fromkeys(("disc_lift", "extra_lift", "cushion"), "disc"),
    }
)

# Causes by the part they lie on; some lie on more than one.
_CAUSES_ON: Mapping[str, str] = MappingProxyType(
    {
        "pedal": """
            assist_spring_wrong foot_rests_on_pedal free_play_large joints_worn linkage_binds
            overtravel_no_stop pedal_bush_worn pedal_joint_dry pedal_stop_wrong
            pedal_stroke_blocked""",
        "bulkhead": "bracket_flexes",
        "master": """
            bores_not_matched master_bypass master_leaks master_new_faulty master_new_wrong
            master_too_large port_blocked port_covered""",
        "line": """
            air_in_system cable_frayed cable_misrouted cable_wrong_length coupling_not_home
            cross_shaft_worn hose_collapsed hose_new_wrong hose_swells line_leaks
            line_near_exhaust old_fluid_boils wrong_fluid""",
        "cross shaft": "cross_shaft_worn",
        "rod": """
            cable_adjuster_not_reset cable_frayed cable_misrouted cable_off cable_wrong_length
            no_play_set slave_pushrod_long slave_pushrod_short""",
        "slave": """
            bleed_screw_low bores_not_matched csc_holds_disc csc_leaks csc_new_faulty
            csc_standoff_wrong slave_knocked_back slave_leaks slave_loose slave_new_faulty
            slave_new_wrong slave_piston_sticks slave_spacer_wrong""",
        "fork": """
            bearing_off_fork fork_bent fork_fouls_window fork_off_pivot fork_wrong fork_wrong_way
            lever_wrong_on_shaft""",
        "pivot": """
            fork_off_pivot pivot_broken pivot_loose pivot_low pivot_new_wrong pivot_spacer_left_in
            pivot_worn""",
        "bearing": """
            bearing_new_faulty bearing_off_fork bearing_pressed_wrong bearing_too_short
            bearing_too_tall bearing_worn pull_bearing_not_snapped""",
        "quill": "input_seal_leaks quill_dry quill_grooved quill_gummed",
        "fingers": "fingers_overtravelled fingers_struck levers_not_set",
        "cover": """
            cover_bolts_loose cover_distorted cover_faulty_new cover_height_wrong cover_not_seated
            cover_unbalanced cover_weak disc_pinched drive_straps_bent parts_mismatch
            pedal_firmer_by_design plate_loose_on_lugs plate_tight_on_lugs pull_ring_unset
            self_adjuster_tripped under_capacity""",
        "plate": """
            faces_rusty facing_stuck plate_face_bad plate_loose_on_lugs plate_tight_on_lugs
            plates_cut_too_far preservative_left""",
        "disc": """
            disc_bent disc_broken disc_faulty_new disc_left_out disc_not_centred disc_pinched
            disc_reversed disc_too_thick disc_too_thin discs_swapped facing_fluid_wet
            facing_glazed facing_greased facing_grows_hot facing_oiled facing_stuck facing_worn
            hub_drags hub_torn_out hub_wrong_size parts_mismatch under_capacity""",
        "floater": "floater_binding floater_loose straps_misassembled",
        "flywheel": """
            dual_mass_worn face_cut_rough faces_rusty flywheel_bolts_loose flywheel_bolts_too_tall
            flywheel_cracked flywheel_face_too_deep flywheel_face_too_high
            flywheel_not_resurfaced flywheel_runs_out flywheel_wrong_balance parts_mismatch
            preservative_left""",
        "primary mass": "dual_mass_worn",
        "crankshaft": "crank_end_bent crank_seal_leaks crank_thrust_worn",
        "pilot": """
            pilot_damaged_fitting pilot_missing pilot_not_home pilot_tight pilot_worn
            pilot_wrong""",
        "shaft": "hub_drags input_bearing_worn shaft_too_long spline_worn",
        "housing": """
            bore_off_centre dowels_missing dust_plate_rubs fork_fouls_window gearbox_bolts_loose
            gearbox_cover_leaks housing_trapped""",
    }
)


def _by_cause() -> Mapping[str, frozenset[str]]:
    found: dict[str, set[str]] = {}
    for part, causes in _CAUSES_ON.items():
        for cause in causes.split():
            found.setdefault(cause, set()).add(part)
    return MappingProxyType({cause: frozenset(parts) for cause, parts in found.items()})


PARTS_OF_CAUSE = _by_cause()
