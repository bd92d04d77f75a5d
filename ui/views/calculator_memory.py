"""What stands in the calculators, kept while their dialog is closed."""

from collections.abc import Mapping
from dataclasses import dataclass, field


@dataclass
class CalculatorMemory:
    """What was typed for one case.

    Attributes
    ----------
    texts : dict
        Name of a calculator -> name of an option -> what stands in its field.
    chosen : str
        Name of the calculator that was shown last; empty for none.
    """

    texts: dict[str, dict[str, str]] = field(default_factory=dict)
    chosen: str = ""

    def clear(self) -> None:
        """Forget it: the case is another."""
        self.texts.clear()
        self.chosen = ""

    def begin(self, calculator: str, words: Mapping[str, str]) -> None:
        """Come to a calculator for something; what was typed there for another thing is dropped."""
        kept = self.texts.get(calculator, {})
        if any(kept.get(name, word) != word for name, word in words.items()):
            kept = {}
        self.texts[calculator] = {**kept, **words}
        self.chosen = calculator
