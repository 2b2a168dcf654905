"""Published numbers against the same captures measured again."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Literal

from dotloupe.errors import InputError

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping

    _Walk = Callable[[Mapping[str, Any], Mapping[str, Any]], Iterator["Correction"]]

Kind = Literal["moved", "missing", "place", "enough", "outstanding", "told apart"]


@dataclass(frozen=True)
class Correction:
    """One thing published that does not hold any more.

    Attributes
    ----------
    kind : str
        "moved": the new value lies outside the published interval; "missing": there is no new
        value; "place", "enough", "outstanding", "told apart": a verdict has changed.
    criterion, subject : str
        Which number, of which setting, sent ppi or effect.
    published, low, high : object
        What was published, and its interval where it was a number.
    now : object
        What it is now; None where there is none.
    unit : str
        Of a number; empty for a verdict.
    """

    kind: Kind
    criterion: str
    subject: str
    published: Any
    low: float | None
    high: float | None
    now: Any
    unit: str = ""


def corrections(published: Mapping[str, Any], again: Mapping[str, Any]) -> tuple[Correction, ...]:
    """List what must be corrected, line by line.

    Parameters
    ----------
    published, again : mapping
        `to_dict()` of a ranking, a ladder or effects as published and as measured again, both of
        one kind; a saved JSON file serves as it is.

    Raises
    ------
    InputError
        The two are not of one kind, or of none of these.
    """
    kind = _kind(published)
    if kind is not _kind(again):
        raise InputError("two results of unlike kinds cannot be compared: give two of one kind")
    return tuple(kind(published, again))


def _kind(result: Mapping[str, Any]) -> _Walk:
    """Corrections of a result of its kind."""
    if "points" in result:
        return _ladder_corrections
    if "factors" in result:
        return _effects_corrections
    if "criteria" in result:
        return _rank_corrections
    raise InputError("not a ranking, ladder or effects: give the JSON file that was published")


def _rank_corrections(
    published: Mapping[str, Any], again: Mapping[str, Any]
) -> Iterator[Correction]:
    for criterion, old in published["criteria"].items():
        new = again["criteria"].get(criterion, {"places": []})
        now = {p["setting"]: p for p in new["places"]}
        for place in old["places"]:
            name = place["setting"]
            found = now.get(name)
            yield from _moved(criterion, name, place, found, old["unit"])
            if found and _verdict(found) != _verdict(place):
                yield Correction(
                    "place", criterion, name, _verdict(place), None, None, _verdict(found)
                )


def _verdict(place: Mapping[str, Any]) -> str:
    tied = place["tied_with"]
    return f"place {place['place']}" + (f", tied with {', '.join(sorted(tied))}" if tied else "")


def _ladder_corrections(
    published: Mapping[str, Any], again: Mapping[str, Any]
) -> Iterator[Correction]:
    criterion = published.get("criterion", "detail_x")
    unit = published.get("criteria", {}).get(criterion, {}).get("unit", "")
    now = {p["sent_ppi"]: p for p in again["points"]}
    for point in published["points"]:
        name = f"{point['sent_ppi']:g} ppi"
        yield from _moved(criterion, name, point, now.get(point["sent_ppi"]), unit)
    verdicts: tuple[tuple[Kind, str], ...] = (
        ("enough", "enough_ppi"),
        ("outstanding", "outstanding"),
    )
    for kind, key in verdicts:
        old, new = published[key], again[key]
        if old != new:
            yield Correction(kind, criterion, "ladder", old, None, None, new)


def _effects_corrections(
    published: Mapping[str, Any], again: Mapping[str, Any]
) -> Iterator[Correction]:
    for criterion, old in published["criteria"].items():
        new = again["criteria"].get(criterion, {})
        for group in ("effects", "simple_effects", "interactions"):
            now = {_contrast(e): e for e in new.get(group, ())}
            for effect in old[group]:
                name = _contrast(effect)
                found = now.get(name)
                yield from _moved(criterion, name, effect, found, old["unit"], key="difference")
                if found and found["distinguishable"] != effect["distinguishable"]:
                    was, is_now = effect["distinguishable"], found["distinguishable"]
                    yield Correction("told apart", criterion, name, was, None, None, is_now)


def _contrast(effect: Mapping[str, Any]) -> str:
    """Name of what an effect or an interaction sets against what."""
    many = "factors" in effect
    factors = effect["factors"] if many else [effect["factor"]]
    ends = [effect[key] if many else [effect[key]] for key in ("from", "to")]
    steps = (
        f"{factor}, {start} to {end}" for factor, start, end in zip(factors, *ends, strict=True)
    )
    within = (f"{factor} {level}" for factor, level in effect.get("within", {}).items())
    return "; ".join((*steps, *within))


def _moved(
    criterion: str,
    name: str,
    old: Mapping[str, Any],
    new: Mapping[str, Any] | None,
    unit: str,
    *,
    key: str = "value",
) -> Iterator[Correction]:
    value, low, high = old[key], old["low"], old["high"]
    if new is None:
        yield Correction("missing", criterion, name, value, low, high, None, unit)
    elif (low is not None and new[key] < low) or (high is not None and new[key] > high):
        yield Correction("moved", criterion, name, value, low, high, new[key], unit)
