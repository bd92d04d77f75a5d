"""All drawings by their id, each with the words that stand for it."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from types import MappingProxyType

from PySide6.QtCore import QRectF
from PySide6.QtGui import QPainter

from ui.drawings import bench, cover, dials, pedals, release
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
        "spin_down": Drawing(
            pedals.spin_down,
            "Time the input shaft runs on: a watch runs from the moment the pedal is on the floor "
            "until the light grind toward reverse has stopped.",
        ),
        "idle_speed": Drawing(
            pedals.idle_speed,
            "Idle speed: read on the rev counter from zero to the middle of what the needle swings "
            "between, the engine warm, in neutral, all loads off.",
        ),
    }
)
