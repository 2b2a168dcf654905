"""What ends a ladder, the camera or the printer, and what to send for a picture, in sentences."""

from __future__ import annotations

from typing import TYPE_CHECKING

from dotloupe.report.text.phrases import listed, phrase, sentence
from dotloupe.report.text.rounding import interval_text, percent_text

if TYPE_CHECKING:
    from dotloupe.compare.ladder import CriterionLadder, Ladder, Recommendation

LEAST_TIME_S = 1.0


def enough_sentences(ladder: Ladder) -> tuple[str, ...]:
    """Say what is enough for all criteria, then for each of them, by one rule."""
    rising = [c for c in ladder.criteria.values() if c.rise]
    if not rising:
        return (_without_trend(ladder.leading),)
    below = f"{100 * (1 - ladder.share):g} %"
    short = [c for c in rising if c.rise and c.rise.enough_ppi is None]
    if short:
        last = short[0].rungs[-1].sent_ppi
        names = listed(phrase(c.name, c.title) for c in short)
        first = (
            f"Send at least {last:g} ppi: even there, {names} "
            f"{'is' if len(short) == 1 else 'are'} more than {below} below the plateau."
        )
    else:
        names = "no criterion" if len(rising) > 1 else phrase(rising[0].name, rising[0].title)
        more = f"is {'more' if len(rising) > 1 else 'no more'} than {below} below its plateau"
        first = f"{ladder.enough_for_all_ppi:g} ppi is enough: there, {names} {more}."
    return (first, *(_needs(c) for c in rising if c not in short))


def outstanding_sentence(ladder: Ladder) -> str:
    """Say which sent ppi stands out from its neighbours, if any does."""
    departures = ladder.leading.departures
    what = phrase(ladder.leading.name, ladder.leading.title)
    if not departures:
        return "Whether one ppi stands out takes five values or more."
    found = [d for d in departures if d.outstanding]
    if not found:
        largest = max(departures, key=lambda d: abs(d.percent))
        size = percent_text(largest.percent, largest.low, largest.high)
        return (
            f"No ppi stands out in {what}: the largest departure from the trend is {size}, at "
            f"{largest.sent_ppi:g} ppi."
        )
    each = listed(
        f"{d.sent_ppi:g} ppi lies {percent_text(d.percent, d.low, d.high)} "
        f"{'above' if d.percent > 0 else 'below'}"
        for d in found
    )
    return f"In {what}, {each} the trend of the others."


def _needs(found: CriterionLadder) -> str:
    """Say from which ppi one criterion is near enough to its plateau."""
    rise = found.rise
    if rise is None or rise.enough_ppi is None:
        return ""
    ends = interval_text(rise.crossing_ppi, *rise.crossing_interval)
    what = sentence(phrase(found.name, found.title))
    return f"{what} needs {rise.enough_ppi:g} ppi (the trend reaches it at {ends} ppi)."


def _without_trend(found: CriterionLadder) -> str:
    """Say how a criterion changed over the ladder, where no trend can be drawn."""
    first, last = found.rungs[0], found.rungs[-1]
    gain = 100 * (last.value / first.value - 1)
    what = phrase(found.name, found.title)
    return (
        f"From {first.sent_ppi:g} to {last.sent_ppi:g} ppi {what} "
        f"{'rises' if gain >= 0 else 'falls'} by {percent_text(gain)}. These values do not show "
        "where it levels off."
    )


def camera_sentence(found: CriterionLadder) -> str:
    """Say whether the camera or the printer ends a ladder; empty where that is not known."""
    ceiling, rise = found.ceiling, found.rise
    if ceiling is None or rise is None or rise.enough_ppi is None:
        return ""
    what, up_to = phrase(found.name, found.title), f"{ceiling.frequency:.0f} cycles/mm"
    if rise.plateau_interval[1] >= ceiling.near:
        return (
            f"The camera, not the printer, limits {what} here: its {ceiling.limit} ends at {up_to}."
            " Photograph the prints from closer."
        )
    if ceiling.response_taken_out:
        return (
            f"The printer, not the camera, limits {what} here: the camera's softness was taken "
            f"out up to {up_to}."
        )
    return (
        f"The photographs are sampled finely enough, up to {up_to}. Photograph a reference edge "
        "to learn how much the lens costs."
    )


def recommendation_sentence(r: Recommendation) -> str:
    """Say what to send for a picture, and what it costs."""
    own, allowed = f"{r.picture_ppi:.0f} ppi", f"{100 * (1 - r.share):.0f} %"
    if r.enough_ppi is None:
        return (
            f"Send the picture as it is, at {own}. No ppi on this ladder is enough for every "
            f"criterion, so what a smaller file would lose is not known. {_file_as_it_is(r)}"
        ).rstrip()
    if r.action == "send as it is":
        short = r.short_of_plateau_percent or 0.0
        told = f" At {own} the weakest criterion is {short:.0f} % below its plateau."
        return (
            f"Send the picture as it is, at {own}; enlarging it would add no detail."
            f"{told if short >= 1 else ''} {_file_as_it_is(r)}"
        ).rstrip()
    low, high = (max(0.0, -end) for end in reversed(r.detail_interval))
    saved, cost = 100 * (1 - r.pixels_ratio), max(0.0, -r.detail_percent)
    return (
        f"Resize the picture from {own} to {r.send_ppi:.0f} ppi, where no criterion is more than "
        f"{allowed} below its plateau. That costs {cost:.1f} % of detail ({low:.1f} to "
        f"{high:.1f} %). The file shrinks by {saved:.0f} %{_file_change(r)}{_time_change(r)}."
    )


def _file_as_it_is(r: Recommendation) -> str:
    parts = []
    if r.megapixels is not None:
        parts.append(f"its file holds {_file(r.megapixels[0])}")
    if r.seconds is not None:
        parts.append(f"its print takes {_time(r.seconds[0])}")
    text = ", and ".join(parts)
    return f"{text[:1].upper()}{text[1:]}." if text else ""


def _file_change(r: Recommendation) -> str:
    if r.megapixels is None:
        return ""
    before, after = r.megapixels
    return f", from {_file(before)} to {_file(after)}"


def _time_change(r: Recommendation) -> str:
    if r.seconds is None:
        return ""
    before, after = r.seconds
    if before - after < LEAST_TIME_S:
        return ", and the print takes as long"
    return f", and the print takes {_time(after)} instead of {_time(before)}"


def _file(megapixels: float) -> str:
    """Pixels, and bytes of three channels of 8 bits uncompressed."""
    return f"{megapixels:.1f} megapixels ({3 * megapixels:.0f} MB uncompressed)"


def _time(seconds: float) -> str:
    minutes, rest = divmod(round(seconds), 60)
    return f"{minutes} min {rest:02d} s" if minutes else f"{rest} s"
