"""What the map says of its boxes and links, in words; Qt-free."""

from collections.abc import Mapping, Sequence

from diagnose.map import AsShown, Bond, CutSet, Key, MapGraph, MapLink, Shown
from diagnose.sentences import chance_words, counts

KINDS: Mapping[str, str] = {
    "causes": "cause",
    "mechanisms": "mechanism",
    "complaints": "complaint",
    "findings": "finding",
}
_BY_GATE = "through a gate"


def capital(text: str) -> str:
    """Give a name as it stands at the beginning of a row."""
    return text[:1].upper() + text[1:]


def many(count: int, noun: str) -> str:
    """Say a number of things."""
    return f"{count or 'no'} {noun}{'s' * (count != 1)}"


def chance_line(box: AsShown) -> str:
    """Say the light of a box; empty without a case."""
    if box.chance is None:
        return ""
    if box.told:
        return "answered in this case" + (", not there" if box.chance <= 0.0 else "")
    said = f"{chance_words(box.chance)}, {counts(box.chance)}"
    if box.is_group and box.kind == "causes":
        return f"one of them is there: {said}"
    return f"likeliest of them: {said}" if box.is_group else said


def spoken(content: Shown, key: Key) -> str:
    """Say a box as a screen reader does: name, kind, chance, and how many links it has."""
    box = content.boxes[key]
    kind = KINDS[box.kind]
    parts = [box.name]
    if box.is_group:
        parts.append(f"group of {many(box.count, kind)}, {'open' if box.is_open else 'closed'}")
    else:
        parts.append(kind)
    parts.append(chance_line(box))
    into, out_of = (len(side.get(key, ())) for side in (content.into, content.out_of))
    parts.append(f"{many(into, 'link')} from causes, {many(out_of, 'link')} to consequences")
    return ", ".join(part for part in parts if part)


def link_words(link: MapLink | Bond) -> str:
    """Say how strong a link is."""
    more = getattr(link, "count", 1)
    word = link.word or _BY_GATE
    return word if more == 1 else f"up to “{word}”, {more} links"


def cut_head(cuts: Sequence[CutSet]) -> str:
    """Say how many minimal cut sets there are, by size."""
    if not cuts:
        return "No cause of this set-up can bring it about."
    sizes = sorted({len(cut.causes) for cut in cuts})
    parts = []
    for size in sizes:
        count = sum(len(cut.causes) == size for cut in cuts)
        each = "single causes" if count > 1 else "single cause"
        parts.append(f"{count} {each if size == 1 else f'of {size} together'}")
    return f"{', '.join(parts)}. Each is enough by itself, and none can be smaller."


def cut_name(graph: MapGraph, cut: CutSet) -> str:
    """Name the causes of a cut set."""
    return " + ".join(graph.base.causes[name].name for name in cut.causes)


def cut_words(graph: MapGraph, cut: CutSet) -> str:
    """Say how probable a cut set is, and what it depends on."""
    if cut.now is not None:
        said = f"{chance_words(cut.now)}, {counts(cut.now)} in this case"
    else:
        said = f"in {share_words(cut.p)} comebacks"
    if cut.conditions:
        names = " and ".join(graph.base.mechanisms[name].name for name in cut.conditions)
        said += f"; where the set-up allows: {names}"
    return said


def share_words(p: float) -> str:
    """Say a small share as one in so many hundreds or thousands."""
    if p >= 0.01:
        return f"{100 * p:.0f} of 100"
    return f"{1000 * p:.1f} of 1000" if p >= 0.0005 else "fewer than 1 of 1000"
