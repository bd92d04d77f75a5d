"""Learning from closed cases: what they say about the numbers that the words stand for.

Pure functions over a sequence of closings. `replay` gives what they teach, `Learned.moves` lists
it, `Learned.applied` gives the base with it. Off by default: whoever wants it gives the applied
base to the assessment.
"""

from diagnose.learning.closings import WEIGHT, Closing, Grade, closing_of
from diagnose.learning.laws import Beta, Gamma
from diagnose.learning.ledger import Change, Learned, Lesson, Move, replay

__all__ = [
    "WEIGHT",
    "Beta",
    "Change",
    "Closing",
    "Gamma",
    "Grade",
    "Learned",
    "Lesson",
    "Move",
    "closing_of",
    "replay",
]
