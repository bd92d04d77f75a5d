"""Money as it is typed: "85 EUR", "$ 85,50"; Qt-free."""

import re

_MOST = 1_000_000.0  # as much as a case file takes
_MONEY = re.compile(
    r"([^\d\s.,/-]{0,12}) *(\d{1,9}(?:[.,]\d{1,4})?) *([^\d\s.,/-]{0,12})(?: */ *h)?"
)


def read_money(text: str) -> tuple[float, str] | None:
    """Read an amount of money and its currency, empty if none is written.

    Parameters
    ----------
    text : str
        The currency before or after the number; "/h" may follow.

    Returns
    -------
    tuple of (float, str), or None
        None if the text is empty, no such amount, or too much for a case file.
    """
    found = _MONEY.fullmatch(text.strip())
    if found is None or (found[1] and found[3]):
        return None
    amount = float(found[2].replace(",", "."))
    return (amount, found[1] or found[3]) if amount <= _MOST else None


def money_text(amount: float | None, currency: str) -> str:
    """Write an amount of money the way it is read; empty for none."""
    return "" if amount is None else f"{amount:.10g} {currency}".strip()
