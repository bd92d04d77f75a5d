"""The map: the fault tree of a base in layers, as much of it as is asked for; pure, without Qt.

`graph` is the whole tree in layers and groups, `shown` what of it stands on the map, `layout`
where, `light` how likely each part is in the present case, and `cuts` the least sets of causes
behind one complaint or finding.
"""

from diagnose.drawings.cards import Key
from diagnose.map.cuts import CutSet, cut_sets
from diagnose.map.graph import LAYERS, SEVERAL, Group, MapGraph, MapLink, Node
from diagnose.map.layout import Curve, Placed, Room, place
from diagnose.map.light import Light, light_of
from diagnose.map.shown import AsShown, Bond, Shown, State, Way, shown

__all__ = [
    "LAYERS",
    "SEVERAL",
    "AsShown",
    "Bond",
    "Curve",
    "CutSet",
    "Group",
    "Key",
    "Light",
    "MapGraph",
    "MapLink",
    "Node",
    "Placed",
    "Room",
    "Shown",
    "State",
    "Way",
    "cut_sets",
    "light_of",
    "place",
    "shown",
]
