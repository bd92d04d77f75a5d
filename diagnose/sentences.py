"""Plain sentences, made only from computed fields."""

from diagnose.assess import Assessment
from diagnose.complaint_tree import strongest_path
from diagnose.explain import Doubt, Explanation, Weight, doubts
from diagnose.forecasts import Forecast, forecasts, reading_words, spoken_band
from diagnose.network import UNKNOWN
from diagnose.planning.record import Advice, Option
from diagnose.readings import measurement_in, reading_key
from diagnose.stops import against, stops_that_hold
from knowledge.model import Finding, KnowledgeBase, Measurement

_CHANCE_WORDS = (
    (0.90, "almost certain"),
    (0.60, "likely"),
    (0.30, "may well be"),
    (0.10, "possible"),
    (0.03, "unlikely"),
    (0.00, "hardly"),
)
# How a word of that scale stands in a sentence, where "is" before it does not do.
_IT = {"may well be": "may well be so", "hardly": "is hardly so"}
_FORCE_WORDS = ((10.0, "strongly"), (5.0, "clearly"), (2.0, "somewhat"), (0.0, "a little"))
_MOST = 1000  # beyond that a factor on the odds is no more than "very much"
_ALWAYS = 0.99
_WORTH_TELLING = 0.005
SILENT = 0.5  # decibans below which an answer is not worth a sentence


def chance_words(p: float) -> str:
    """Give the word for a chance, from one fixed scale."""
    return next((word for least, word in _CHANCE_WORDS if p >= least), _CHANCE_WORDS[-1][1])


def counts(p: float) -> str:
    """Give a chance as plain counts."""
    hundred = round(100 * p)
    if hundred >= 100:
        return "more than 99 in 100"
    return f"about {hundred} in 100" if hundred >= 1 else "less than 1 in 100"


def hours(value: float) -> str:
    """Give hours as one would say them: minutes below one hour and a half, no tenths from 100."""
    if value < 0.5 / 60:
        return "less than 1 min"
    if value < 1.5:
        return f"{round(60 * value)} min"
    return f"{value:.1f} h" if value < 99.95 else f"{value:.0f} h"


def statement(assessment: Assessment, finding: str) -> str:
    """Say what was seen: the finding's name if it is there, what is seen without it if not.

    Of readings it says what was read, and what the healthy vehicle would show.
    """
    measurement = measurement_in(finding)
    if measurement is not None:
        return _reading_statement(assessment, measurement)
    record = assessment.network.base.observable(finding)
    seen = assessment.situation.observed[finding].ratio
    if seen >= 1.0:
        return record.name
    return record.absent if isinstance(record, Finding) else f"no complaint: {record.name}"


def read_with(assessment: Assessment, measurement: str) -> str | None:
    """Give the instrument of a measurement's latest reading; None for what is usually taken."""
    entry = assessment.situation.entry_of(reading_key(measurement))
    return assessment.case.entries[entry].instrument


def left_out_line(assessment: Assessment) -> str:
    """Say how much of what readings leave possible was not weighed; empty if next to nothing."""
    share = assessment.marginals.left_out
    if share < _WORTH_TELLING:
        return ""
    return f"Not weighed, of what the readings leave possible: {counts(share)}."


def read_measurements(assessment: Assessment) -> tuple[str, ...]:
    """Give the measurements whose readings count, in the order they were taken."""
    taken = assessment.situation.measured.taken
    return tuple(dict.fromkeys(t.measurement.id for t in taken))


def prediction(assessment: Assessment, measurement: str, forecast: Forecast) -> str:
    """Say what one cause predicts for a measurement."""
    record = assessment.network.base.measurements[measurement]
    return f"{_sentence(forecast.name)}: {_foreseen(record, forecast)}"


def _reading_statement(assessment: Assessment, measurement: str) -> str:
    record = assessment.network.base.measurements[measurement]
    key = reading_key(measurement)
    entries = [t.entry for t in assessment.situation.measured.taken if t.key == key]
    said = "; ".join(_as_read(assessment, entry) for entry in entries)
    instrument = read_with(assessment, measurement)
    healthy, *_ = forecasts(assessment, measurement, instrument=instrument, top=0)
    usual = spoken_band(record, healthy.low, healthy.high)
    return f"{record.name}: {said} (without a fault {usual})"


def _as_read(assessment: Assessment, entry: int) -> str:
    told = assessment.case.entries[entry]
    check = assessment.network.base.checks[str(told.check)]
    answer = next((a.text for a in check.answers if a.id == told.answer), told.answer)
    return reading_words(assessment.network.base, told) or answer


def explanation_lines(assessment: Assessment, explanation: Explanation) -> list[str]:
    """Account for a cause in sentences, the weightiest answers first."""
    base = assessment.network.base
    chance = assessment.cause(explanation.cause)
    rank = assessment.causes.index(chance) + 1
    lines = [
        f"{_sentence(chance.name)}: {chance_words(chance.p)}, {counts(chance.p)}; "
        f"number {rank} of {len(assessment.causes)}. "
        f"Before any answer it was {counts(chance.prior)}."
    ]
    if any(e.repair == explanation.cause and e.seen for e in assessment.case.entries):
        designed = base.causes[explanation.cause].kind == "designed"
        lines.append("It was shown." if designed else "It was seen when it was put right.")
    lines.extend(_how_lines(assessment, explanation.cause))
    weighty = sorted(explanation.weights, key=lambda w: -abs(w.left_out))
    for weight in weighty:
        line = _weight_line(assessment, weight, explanation.cause)
        if line:
            lines.append(line)
    share = {w.key: assessment.unexplained.get(w.key, 0.0) for w in explanation.weights}
    for finding, p in share.items():
        if p > 0.5:
            name = base.observable(finding).name
            lines.append(f"“{_sentence(name)}” stays unexplained by any cause ({counts(p)}).")
    if not explanation.weights:
        lines.append("No answer speaks for or against it yet.")
    return lines


def _how_lines(assessment: Assessment, cause: str) -> list[str]:
    """Say by which chain the cause brings each complaint that is there."""
    base = assessment.network.base
    lines = []
    for name, seen in assessment.situation.observed.items():
        if name in base.complaints and seen.ratio > 1.0:
            chain = strongest_path(base, assessment.case.facts, cause, name)
            names = [_node_name(base, node) for node in chain]
            if names:
                lines.append(f"How: {' → '.join(names)}.")
    return lines


def _node_name(base: KnowledgeBase, node: str) -> str:
    for kind in (base.causes, base.mechanisms, base.complaints, base.findings):
        if node in kind:
            return kind[node].name
    raise KeyError(node)


def _weight_line(assessment: Assessment, weight: Weight, cause: str) -> str:
    said = _sentence(statement(assessment, weight.key))
    if weight.explained_by is not None:
        other = assessment.network.base.causes[weight.explained_by].name
        return f"“{said}” would fit, but is explained by: {other}."
    if abs(weight.left_out) < SILENT:
        return ""
    force = next(word for least, word in _FORCE_WORDS if abs(weight.left_out) >= least)
    side = "for" if weight.left_out > 0.0 else "against"
    factor = 10.0 ** (abs(weight.left_out) / 10.0)
    change = f"{factor:.0f} times" if factor >= 10 else f"{factor:.1f} times"
    if factor > _MOST:
        change = f"more than {_MOST} times"
    more = "the odds" if weight.left_out > 0.0 else "lower odds"
    line = f"“{said}” speaks {force} {side} it ({change} {more})."
    return f"{line} {_prediction_line(assessment, weight.key, cause)}".strip()


def _prediction_line(assessment: Assessment, key: str, cause: str) -> str:
    """Say what a cause predicts for a reading; nothing for a finding."""
    measurement = measurement_in(key)
    if measurement is None:
        return ""
    record = assessment.network.base.measurements[measurement]
    instrument = read_with(assessment, measurement)
    _, mine = forecasts(assessment, measurement, instrument=instrument, causes=(cause,))
    if not mine.moved:
        return "This cause leaves it alone."
    return f"With this cause it would be {_foreseen(record, mine)}."


def _foreseen(record: Measurement, forecast: Forecast) -> str:
    band = spoken_band(record, forecast.low, forecast.high)
    return band if forecast.chance >= _ALWAYS else f"{band}, in {counts(forecast.chance)} cases"


def advice_reason(assessment: Assessment, advice: Advice) -> str:
    """Say why the first option is advised, and not the drive if a stop notice forbids that."""
    return f"{_reason(assessment, advice)} {_not_driven(assessment)}".strip()


def _not_driven(assessment: Assessment) -> str:
    """Say what keeps a vehicle on which something was mended from being driven; empty if nothing.

    A sign that was seen wrongly, or was put right by the way, is unsaid by its answer.
    """
    base = assessment.network.base
    held = against(base, stops_that_hold(assessment.network, assessment.case), "drive", "")
    if not held or not assessment.situation.pending:
        return ""
    signs = ", ".join(
        f"“{base.observable(sign).name}”" for sign in dict.fromkeys(h.sign for h in held)
    )
    return (
        f"It is not driven while a stop notice holds for {signs}: if that was looked at and is "
        "right, change its answer."
    )


def _reason(assessment: Assessment, advice: Advice) -> str:
    best = advice.options[0] if advice.options else None
    if best is None and advice.too_long:
        return "Nothing that helps fits in what is left of the customer's time."
    if best is None:
        return (
            "Nothing is left that would bring the fix nearer. "
            "Hand the case over with what is written here."
        )
    if best.kind == "hand_over":
        return "What is left to try costs more than handing it over, with what is written here."
    if best.kind == "drive":
        return (
            f"What was mended shows only on the road; closing up and driving takes "
            f"{hours(best.hours)}, and no further look would pay for itself first."
        )
    where = "" if best.kind == "ask" else f" {assessment.network.base.levels[best.level].name}"
    took = f"{hours(best.hours)}{where}"
    if best.kind == "repair":
        p = assessment.cause(best.id).p
        word = chance_words(p)
        act = "explaining it" if best.designed else "the repair"
        return (
            f"It {_IT.get(word, f'is {word}')} ({counts(p)}), {act} takes {took}, "
            "and no further look would pay for itself first."
        )
    saved = best.gain > 0.0
    pays = f"saves {hours(best.gain)} on average" if saved else "begins the shortest search"
    text = f"It takes {took} and {pays}."
    rivals = _told_apart(assessment, best)
    return f"It tells “{rivals[0]}” from “{rivals[1]}”. {text}" if rivals else text


def _told_apart(assessment: Assessment, option: Option) -> tuple[str, str] | None:
    """The likeliest cause that shows what the check looks for, and the likeliest that does not.

    Both may bring what is complained of: nobody asks about others.
    """
    network = assessment.network
    check = network.base.checks.get(option.id) if option.kind == "check" else None
    findings = check.reads() if check else (option.id,)
    columns = [network.finding_index[f] for f in findings]
    shows = network.q[:, columns].max(axis=1)
    told = [
        network.finding_index[name]
        for name, seen in assessment.situation.observed.items()
        if name in network.base.complaints and seen.ratio > 1.0
    ]
    brings = network.q[:, told].max(axis=1, initial=0.0) > 0.0
    meant = brings if brings.any() else ~brings
    ranked = [c for c in assessment.causes if c.id != UNKNOWN and meant[network.cause_index[c.id]]]
    showing = next((c.name for c in ranked if shows[network.cause_index[c.id]] >= 0.4), None)
    silent = next((c.name for c in ranked if shows[network.cause_index[c.id]] < 0.2), None)
    return (showing, silent) if showing and silent else None


def verdict(assessment: Assessment, advice: Advice) -> tuple[str, str]:
    """Say whether to go inside: a headline, and the hours behind it."""
    out, inside = advice.outside, advice.inside
    drivable = assessment.network.base.levels[assessment.case.stands].drivable
    if inside is None or (out is not None and not advice.go_inside):
        head = "The gearbox can stay in" if drivable else "Close up before the next step"
        if drivable and assessment.stops():  # whose text may well ask for it to come out
            head = "The next step is from outside"
    else:
        head = "Go and look inside" if drivable else "Stay inside"
    ways = ((out, "if it stays in for now"), (inside, "if it comes out next"))
    if not drivable:
        ways = ((inside, "if it stays open for now"), (out, "if it is closed up first"))
    parts = [f"{hours(value)} {way}" for value, way in ways if value is not None]
    reason = ", ".join(parts)
    return head, f"To the fix {reason}." if reason else "There is no further step to compare."


def look_again(assessment: Assessment) -> list[str]:
    """Name the answers that contradict the rest, for another look."""
    doubtful: tuple[Doubt, ...] = doubts(assessment)
    lines = []
    if assessment.softened:
        lines.append(
            "The certain answers contradict each other; they are taken as not quite certain."
        )
    if assessment.by_bands:
        lines.append("Very many answers hang together; readings count by their bands only.")
    if assessment.unknown > 0.5:
        lines.append(
            "No cause here explains these answers well "
            f"({counts(assessment.unknown)} something else)."
        )
    if lines or len(doubtful) > 1:
        lines.extend(
            f"Look again: “{_sentence(statement(assessment, d.key))}” "
            "fits badly with the other answers."
            for d in doubtful[:3]
        )
    return lines


def _sentence(text: str) -> str:
    return text[0].upper() + text[1:]
