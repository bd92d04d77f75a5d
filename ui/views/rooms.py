"""The three rooms of the window, by name."""

from typing import Literal

Room = Literal["vehicle", "line", "class"]
