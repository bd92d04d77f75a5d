"""Finding records by the words people use; Qt-free.

Letters are compared without regard to case and apostrophes, and words by their beginnings, so that
"grinding" finds "grinds". What a driver says in a whole sentence is matched word by word, the rarer
words counting more.
"""

import math
import re
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence

_WORD = re.compile(r"[a-z0-9]+")
# fmt: off
_SILENT = frozenset({
    "a", "an", "and", "as", "at", "be", "but", "by", "for", "from", "get", "gets", "got", "has",
    "have", "i", "in", "into", "is", "it", "its", "my", "no", "not", "of", "off", "on", "or",
    "so", "than", "that", "the", "then", "there", "this", "to", "too", "up", "was", "we",
    "when", "with", "you",
})
# fmt: on
_ENDINGS = ("ing", "ed", "es", "s", "y")


def stems(text: str) -> tuple[str, ...]:
    """Give the words of a text without their commonest endings."""
    plain = text.lower().replace("’", "'").replace("'", "")
    return tuple(_stem(word) for word in _WORD.findall(plain))


def _stem(word: str) -> str:
    for ending in _ENDINGS:
        if word.endswith(ending) and len(word) - len(ending) >= 3:
            return word[: -len(ending)]
    return word


class Index:
    """Records by the words of their texts.

    Parameters
    ----------
    texts : Mapping
        Id -> the texts that speak of it, the name first.
    """

    def __init__(self, texts: Mapping[str, Sequence[str]]) -> None:
        self._words = {key: frozenset(_all_stems(said)) for key, said in texts.items()}
        self._names = {key: stems(said[0]) for key, said in texts.items()}
        spread = Counter(word for words in self._words.values() for word in words)
        self._weight = {w: math.log(1.0 + len(texts) / n) for w, n in spread.items()}

    def find(self, typed: str) -> list[str]:
        """List the records in which every typed word begins some word; best first."""
        wanted = stems(typed)
        fitting = [k for k, words in self._words.items() if _all_begin(wanted, words)]
        return sorted(fitting, key=lambda k: not _all_begin(wanted, self._names[k]))

    def suggest(self, sentence: str) -> list[str]:
        """List the records a sentence speaks of, the closest first; empty if it speaks of none."""
        said = {word for word in stems(sentence) if word not in _SILENT}
        scores = {
            key: sum(self._weight[word] for word in words if _begins_either(word, said))
            for key, words in self._words.items()
        }
        best = max(scores.values(), default=0.0)
        worth = [key for key, score in scores.items() if score > 0.0 and score >= 0.4 * best]
        return sorted(worth, key=lambda key: (-scores[key], key))


def _all_stems(texts: Iterable[str]) -> Iterable[str]:
    return (word for text in texts for word in stems(text))


def _all_begin(wanted: Iterable[str], words: Iterable[str]) -> bool:
    return all(any(word.startswith(start) for word in words) for start in wanted)


def _begins_either(word: str, said: Iterable[str]) -> bool:
    if word in _SILENT:
        return False
    return any(
        word == other or (min(len(word), len(other)) >= 4 and _one_begins(word, other))
        for other in said
    )


def _one_begins(one: str, other: str) -> bool:
    return one.startswith(other) or other.startswith(one)
