"""The number types of the formulas, and the refusal of what lies outside their domain."""

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Real = float | Floats


def require_positive(**values: Real) -> None:
    """Refuse values that are not finite and above zero, by name.

    Raises
    ------
    ValueError
        If one is zero, negative, infinite or not a number.
    """
    for name, value in values.items():
        if not np.all(np.isfinite(value) & (np.asarray(value) > 0.0)):
            message = f"{name} must be finite and above 0, not {value}"
            raise ValueError(message)


def require_not_negative(**values: Real) -> None:
    """Refuse values that are not finite and at least zero, by name.

    Raises
    ------
    ValueError
        If one is negative, infinite or not a number.
    """
    for name, value in values.items():
        if not np.all(np.isfinite(value) & (np.asarray(value) >= 0.0)):
            message = f"{name} must be finite and at least 0, not {value}"
            raise ValueError(message)
