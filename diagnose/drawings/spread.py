"""Places in a row: as near as they can be to where they are wanted, without changing places.

References
----------
Isotonic regression by pooling adjacent violators: R. E. Barlow, D. J. Bartholomew, J. M. Bremner,
H. D. Brunk, Statistical Inference under Order Restrictions, 1972.
"""

from collections.abc import Sequence


def spread(
    wanted: Sequence[float],
    offsets: Sequence[float],
    slack: float,
    *,
    weights: Sequence[float] | None = None,
) -> list[float]:
    """Find the places nearest to wanted ones that keep their order and distances.

    Parameters
    ----------
    wanted, offsets : sequence of float
        Wanted places, and those with everything as far left as it goes; distances never get
        smaller than theirs.
    slack : float
        How far to the right of ``offsets`` anything may go; at least 0.
    weights : sequence of float, optional
        How firmly each is held to its wanted place.

    Returns
    -------
    list of float
        The least sum of weighted squares of the distances to the wanted places.
    """
    pools: list[tuple[float, float, int]] = []  # weight, value, how many
    for i, (want, offset) in enumerate(zip(wanted, offsets, strict=True)):
        weight = weights[i] if weights is not None else 1.0
        value, count = want - offset, 1
        while pools and pools[-1][1] > value:
            other, mean, n = pools.pop()
            value = (weight * value + other * mean) / (weight + other)
            weight, count = weight + other, count + n
        pools.append((weight, value, count))
    shifts = [min(max(value, 0.0), slack) for _, value, count in pools for _ in range(count)]
    return [offset + shift for offset, shift in zip(offsets, shifts, strict=True)]
