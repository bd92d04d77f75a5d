"""All drawings by their id, each with the words that stand for it."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from types import MappingProxyType

from PySide6.QtCore import QRectF
from PySide6.QtGui import QPainter

from ui.drawings import bench, cover, cylinders, dials, faces, heavy, pedals, release, shafts
from ui.drawings.scheme import Scheme
from ui.drawings.sheet import HEIGHT, WIDTH, Label, Sheet


@dataclass(frozen=True)
class Drawing:
    """How to take one reading, as a drawing.

    Attributes
    ----------
    draw : callable
        Puts the drawing on a sheet.
    alt : str
        One sentence in its place: what is measured, from where to where.
    """

    draw: Callable[[Sheet], None]
    alt: str

    def paint(self, painter: QPainter, scheme: Scheme) -> tuple[Label, ...]:
        """Paint it on a canvas of 320 by 200 units; what lies outside is cut off.

        Parameters
        ----------
        painter : QPainter
            Scaled so that its unit is the canvas's; its font gives the face of the letters. It is
            left as it was.
        scheme : Scheme

        Returns
        -------
        tuple of Label
            The words and the boxes they take.
        """
        painter.save()
        painter.setClipRect(QRectF(0.0, 0.0, WIDTH, HEIGHT))
        sheet = Sheet(painter, scheme)
        self.draw(sheet)
        sheet.write()
        painter.restore()
        return tuple(sheet.labels)


DRAWINGS: Mapping[str, Drawing] = MappingProxyType(
    {
        "pedal_free_play": Drawing(
            pedals.pedal_free_play,
            "Free play at the pedal: a rule beside the pad shows how far its middle moves, pressed "
            "by hand, from rest to the first firm resistance.",
        ),
        "engagement_height": Drawing(
            pedals.engagement_height,
            "Height where the clutch takes hold: a tape measures from the place of the pad at its "
            "stop up to its place when the clutch just takes hold on the way up.",
        ),
        "pedal_effort": Drawing(
            pedals.pedal_effort,
            "Force at the pedal: a push gauge on the middle of the pad, square to the arm, is "
            "pressed slowly from rest to the floor.",
        ),
        "fork_free_travel": Drawing(
            release.fork_free_travel,
            "Free travel of the fork: its end outside the window is moved by hand, in the line of "
            "the slave, from its back stop until the bearing meets the fingers.",
        ),
        "fork_tip_travel": Drawing(
            release.fork_tip_travel,
            "Travel of the fork: a rule beside its end, at the slave's push rod, shows how far it "
            "goes from pedal up to pedal on the floor.",
        ),
        "finger_height": Drawing(
            cover.finger_height,
            "Height of the fingers: from the flywheel face that the cover bolts to out to the "
            "finger tips, found with a depth gauge from a straightedge across the cover.",
        ),
        "finger_spread": Drawing(
            cover.finger_spread,
            "Spread of the fingers: every finger tip is read with a depth gauge from one fixed "
            "point while the engine is turned, and the lowest is taken from the highest.",
        ),
        "bore_runout": Drawing(
            dials.bore_runout,
            "Runout of the housing bore: a dial indicator stands on the flywheel with its plunger "
            "in the bore, is read at 12, 3, 6 and 9 o'clock, and the smallest reading is taken "
            "from the largest.",
        ),
        "housing_face_runout": Drawing(
            dials.housing_face_runout,
            "Runout of the housing face: a dial indicator stands on the flywheel with its plunger "
            "square on the face the gearbox bolts to, is read at 12, 3, 6 and 9 o'clock, and the "
            "smallest reading is taken from the largest.",
        ),
        "flywheel_runout": Drawing(
            dials.flywheel_runout,
            "Runout of the flywheel face: a dial indicator stands on the engine block with its "
            "plunger near the outer edge of the face, and over one full turn, the crank held one "
            "way, the lowest reading is taken from the highest.",
        ),
        "pilot_bore_runout": Drawing(
            dials.pilot_bore_runout,
            "Runout of the pilot bore: a lever dial indicator stands on the engine block with its "
            "stylus in the bore, and over one full turn of the crank the smallest reading is taken "
            "from the largest.",
        ),
        "disc_runout": Drawing(
            dials.disc_runout,
            "Runout of the disc: on a mandrel between centres, a dial indicator 6 millimetres, a "
            "quarter inch, in from the edge, and over one slow turn the lowest reading is taken "
            "from the highest.",
        ),
        "spline_play": Drawing(
            bench.spline_play,
            "Turning play of the hub: with the shaft held, a pointer clamped to the hub is rocked "
            "from one end of its play to the other and read 100 millimetres, 4 inches, from the "
            "middle.",
        ),
        "pilot_clearance": Drawing(
            bench.pilot_clearance,
            "Play in the pilot: the bore of the pilot measured across with a bore gauge, less the "
            "tip of the shaft measured across with a micrometer.",
        ),
        "disc_thickness": Drawing(
            bench.disc_thickness,
            "Thickness of the disc: a calliper from the outside of one facing to the outside of "
            "the other, pressed together, at three places, less the kit's figure.",
        ),
        "flywheel_step": Drawing(
            bench.flywheel_step,
            "Step of the flywheel: a depth gauge from the face the cover bolts to down to the "
            "friction face.",
        ),
        "floater_lug_gap": Drawing(
            bench.floater_lug_gap,
            "Clearance of the floater: a feeler gauge between the side of its lug and the side of "
            "the slot that drives it.",
        ),
        "plate_warp": Drawing(
            bench.plate_warp,
            "Warp of the pressure plate: a straightedge across its face in three directions, and "
            "a feeler gauge in the largest gap from the straightedge down to the face.",
        ),
        "rivet_depth": Drawing(
            bench.rivet_depth,
            "Depth of the rivets: a depth gauge from the surface of the facing down to the head "
            "of the rivet.",
        ),
        "lever_height": Drawing(
            faces.lever_height,
            "Height of the levers: a straightedge across the tips of the release levers, and "
            "from there back to the rear face of the clutch ring.",
        ),
        "finger_wear_depth": Drawing(
            faces.finger_wear_depth,
            "Wear of a finger: a depth gauge stands across the place where the bearing runs, "
            "from the metal beside it down to the bottom of the mark.",
        ),
        "finger_wear_width": Drawing(
            faces.finger_wear_width,
            "Width of the wear mark: a calliper along the finger, from one end of the bright "
            "mark to the other.",
        ),
        "hub_gap": Drawing(
            faces.hub_gap,
            "Room at the hubs: discs and floater built up on the flywheel, from the pilot to "
            "the first hub and from the first hub to the second, the smaller counts.",
        ),
        "cover_lug_gap": Drawing(
            faces.cover_lug_gap,
            "Clearance of the pressure plate: a feeler gauge between the side of a lug of the "
            "cover and the side of its slot in the plate.",
        ),
        "plate_cut": Drawing(
            faces.plate_cut,
            "Metal off the pressure plate: a micrometer across the plate as it is, taken from "
            "the thickness of a new one, which is dashed.",
        ),
        "floater_cut": Drawing(
            faces.floater_cut,
            "Metal off the floater: a micrometer across the floater as it is, taken from the "
            "thickness of a new one, and halved for each of its two sides.",
        ),
        "spring_load": Drawing(
            faces.spring_load,
            "Load of a clamp spring: a coil spring is pressed in a tester to its listed length, "
            "and the load is read on the dial.",
        ),
        "disc_flatness": Drawing(
            faces.disc_flatness,
            "Flatness of the disc: it lies on a flat plate with its hub over a hole, and a "
            "feeler gauge finds the largest gap under the facing.",
        ),
        "face_finish": Drawing(
            faces.face_finish,
            "Finish of the friction face: a finger nail across the face, then across the fields "
            "of a comparison plate until one feels alike.",
        ),
        "pilot_depth": Drawing(
            shafts.pilot_depth,
            "Depth of the pilot: a depth gauge from a straightedge across the face of the "
            "flywheel in to the face of the pilot.",
        ),
        "shaft_room": Drawing(
            shafts.shaft_room,
            "Room before the shaft: from the face of the block to the floor of the bore in the "
            "crank, less from the face of the housing to the tip of the shaft.",
        ),
        "crank_flange_runout": Drawing(
            shafts.crank_flange_runout,
            "Runout of the crank flange: a dial indicator stands on the engine block with its "
            "plunger near the edge of the flange, and over one full turn the lowest reading is "
            "taken from the highest.",
        ),
        "crank_end_float": Drawing(
            shafts.crank_end_float,
            "End float of the crank: a dial indicator on the block with its plunger on the face "
            "of the pulley, while the crank is levered right forward and right back.",
        ),
        "bearing_height_off": Drawing(
            shafts.bearing_height_off,
            "Height of the release bearing: old and new side by side, each from the pads of its "
            "carrier to its face, and the old taken from the new.",
        ),
        "driveline_lash": Drawing(
            shafts.driveline_lash,
            "Turning play of the propshaft: seen from its end, a chalk mark moves from one firm "
            "end of the play to the other, in first gear with the wheels chocked.",
        ),
        "joint_angle_difference": Drawing(
            shafts.joint_angle_difference,
            "Angles of the propshaft: the bend between gearbox shaft and propshaft, and the "
            "bend between propshaft and axle shaft, the smaller taken from the larger.",
        ),
        "spin_down": Drawing(
            pedals.spin_down,
            "Time the input shaft runs on: a watch runs from the moment the pedal is on the floor "
            "until the light grind toward reverse has stopped.",
        ),
        "pedal_travel": Drawing(
            pedals.pedal_travel,
            "Full travel of the pedal: a tape beside the middle of the pad shows how far it goes, "
            "pressed by hand, from rest to its stop.",
        ),
        "push_rod_play": Drawing(
            pedals.push_rod_play,
            "Play of the master's push rod: a rule beside the pad shows how far it moves under one "
            "finger, from rest until the rod meets the piston.",
        ),
        "master_stroke": Drawing(
            pedals.master_stroke,
            "Stroke of the master: a rule along the push rod shows how far it goes in from pedal "
            "up to pedal on its stop.",
        ),
        "brake_squeeze": Drawing(
            pedals.brake_squeeze,
            "Height where the clutch brake is squeezed: a tape measures from the place of the pad "
            "at its stop up to its place when the brake just holds a feeler.",
        ),
        "bearing_gap": Drawing(
            release.bearing_gap,
            "Running gap: with the pedal up a feeler gauge goes between the face of the release "
            "bearing and the tips of the fingers.",
        ),
        "csc_standoff": Drawing(
            release.csc_standoff,
            "Stand-off of the cylinder round the shaft: from the face of the gearbox down to the "
            "bearing, pushed right back, less from the face of the engine out to the fingers.",
        ),
        "yoke_gap": Drawing(
            heavy.yoke_gap,
            "Gap at the yoke of a heavy clutch: from the tips of the yoke to the pads of the "
            "bearing, with the pedal up.",
        ),
        "brake_gap": Drawing(
            heavy.brake_gap,
            "Gap to the clutch brake: from the back of the bearing to the face of the brake, with "
            "the pedal up.",
        ),
        "pull_bearing_travel": Drawing(
            heavy.pull_bearing_travel,
            "Travel of a pulled bearing: a rule beside it shows how far it goes toward the "
            "gearbox, the fingers with it, from pedal up to pedal on its stop.",
        ),
        "master_bore_off": Drawing(
            cylinders.master_bore_off,
            "Bore of the master: measured across inside or read off the casting, less the bore on "
            "the kit's sheet.",
        ),
        "slave_bore_off": Drawing(
            cylinders.slave_bore_off,
            "Bore of the slave: measured across inside or read off the casting, less the bore on "
            "the kit's sheet.",
        ),
        "slave_rod_off": Drawing(
            cylinders.slave_rod_off,
            "Push rod of the slave: laid beside the old one on a rule, its length from end to end "
            "less that of the old one.",
        ),
        "earth_voltage": Drawing(
            cylinders.earth_voltage,
            "Voltage lost on the earth side: a voltmeter from the battery's negative post to bare "
            "metal of the engine, read while it cranks.",
        ),
        "idle_speed": Drawing(
            pedals.idle_speed,
            "Idle speed: read on the rev counter from zero to the middle of what the needle swings "
            "between, the engine warm, in neutral, all loads off.",
        ),
    }
)
