"""Published numbers against the same captures measured again."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Literal

from dotloupe.errors import InputError

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

Kind = Literal["moved", "missing", "place", "enough", "outstanding"]


@dataclass(frozen=True)
class Correction:
    """One thing published that does not hold any more.

    Attributes
    ----------
    kind : str
        "moved": the new value lies outside the published interval; "missing": there is no new
        value; "place", "enough", "outstanding": a verdict has changed.
    criterion, subject : str
        Which number, of which setting or sent ppi.
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
        `Ranking.to_dict()` or `Ladder.to_dict()` as published and as measured again, both of one
        kind; a saved JSON file serves as it is.

    Raises
    ------
    InputError
        The two are not of one kind, or neither of a ranking nor of a ladder.
    """
    if _is_ladder(published) != _is_ladder(again):
        raise InputError("a ranking and a ladder cannot be compared: give two of one kind")
    walk = _ladder_corrections if _is_ladder(published) else _rank_corrections
    return tuple(walk(published, again))


def _is_ladder(result: Mapping[str, Any]) -> bool:
    if "points" in result:
        return True
    if "criteria" in result:
        return False
    raise InputError("neither a ranking nor a ladder: give the JSON file that was published")


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


def _moved(
    criterion: str,
    name: str,
    old: Mapping[str, Any],
    new: Mapping[str, Any] | None,
    unit: str,
) -> Iterator[Correction]:
    value, low, high = old["value"], old["low"], old["high"]
    if new is None:
        yield Correction("missing", criterion, name, value, low, high, None, unit)
    elif (low is not None and new["value"] < low) or (high is not None and new["value"] > high):
        yield Correction("moved", criterion, name, value, low, high, new["value"], unit)
