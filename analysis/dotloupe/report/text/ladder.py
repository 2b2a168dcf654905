"""What ends a ladder, the camera or the printer, and what to send for a picture, in sentences."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from dotloupe.compare.ladder import CriterionLadder, Recommendation

LEAST_TIME_S = 1.0


def camera_sentence(found: CriterionLadder) -> str:
    """Say whether the camera or the printer ends a ladder; empty where that is not known."""
    ceiling, rise = found.ceiling, found.rise
    if ceiling is None or rise is None or rise.enough_ppi is None:
        return ""
    up_to = f"up to {ceiling.frequency:.0f} cycles/mm"
    if rise.plateau_interval[1] >= ceiling.near:
        return (
            f"The camera, not the printer, ends this ladder: its {ceiling.limit} holds {up_to} "
            "only. Photograph the prints from closer."
        )
    if ceiling.response_taken_out:
        return (
            "The printer, not the camera, ends this ladder: the camera's own softness was taken "
            f"out {up_to}."
        )
    return (
        f"The photographs are sampled finely enough for this ladder, {up_to}. Photograph a "
        "reference edge to learn how much the lens costs."
    )


def recommendation_sentence(r: Recommendation) -> str:
    """Say what to send for a picture, and what it costs."""
    own = f"A picture of {r.picture_ppi:.0f} ppi"
    if r.enough_ppi is None:
        return (
            f"{own}: send it as it is; this ladder does not reach a ppi that is enough, so what a "
            f"smaller file would lose is not known. {_file_as_it_is(r)}"
        ).rstrip()
    if r.action == "send as it is":
        short = r.short_of_plateau_percent or 0.0
        told = f" It gives {short:.0f} % less detail than the printer holds." if short >= 1 else ""
        return (
            f"{own}: send it as it is; enlarging it would add none of its detail.{told} "
            f"{_file_as_it_is(r)}"
        ).rstrip()
    low, high = (max(0.0, -end) for end in reversed(r.detail_interval))
    within, saved = 100 * (1 - r.share), 100 * (1 - r.pixels_ratio)
    cost = max(0.0, -r.detail_percent)
    return (
        f"{own}: resize it to {r.send_ppi:.0f} ppi, which is within {within:.0f} % of all that the "
        f"printer holds in either direction. It costs {cost:.1f} % of detail "
        f"({low:.1f} to {high:.1f} %). The file shrinks by {saved:.0f} %{_file_change(r)}"
        f"{_time_change(r)}."
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
