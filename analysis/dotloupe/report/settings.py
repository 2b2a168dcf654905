"""The settings of a result, as tables, plots and pages go through them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from dotloupe.compare.history import Trend
from dotloupe.compare.ladder import Ladder
from dotloupe.compare.ranking import Ranking
from dotloupe.errors import InputError
from dotloupe.measurement import camera_said
from dotloupe.report.plots import SERIES, Look, look
from dotloupe.report.text import short
from dotloupe.units import VIEWING_DISTANCE_MM

if TYPE_CHECKING:
    from collections.abc import Iterator

    from dotloupe.measurement import Measurement


@dataclass(frozen=True)
class Setting:
    """One setting of a ranking, or one sent ppi of a ladder.

    Attributes
    ----------
    index : int
        Place in the order given, from 0.
    name : str
        As given.
    measurements : tuple of Measurement
    look : Look
    """

    index: int
    name: str
    measurements: tuple[Measurement, ...]
    look: Look

    @property
    def label(self) -> str:
        """Name that is safe and short enough to stand in a plot."""
        return short(self.name)

    @property
    def colour_number(self) -> int:
        """Number of its colour on a page, from 1."""
        return self.index % len(SERIES) + 1

    def prints(self) -> dict[str, list[Measurement]]:
        """Photographs of each print, by print."""
        found: dict[str, list[Measurement]] = {}
        for m in self.measurements:
            found.setdefault(m.print_id, []).append(m)
        return found


def settings_of(result: Any) -> tuple[Setting, ...]:
    """Return the settings of a result in its own order, each with its look; a trend has none.

    Raises
    ------
    InputError
        The result is none that can be drawn.
    """
    return tuple(
        Setting(i, name, shots, look(i)) for i, (name, shots) in enumerate(_named_shots(result))
    )


def camera_in(result: Any, name: str) -> str:
    """Say whether the camera is in a number of the settings' photographs, as `camera_said`."""
    return camera_said((m for s in settings_of(result) for m in s.measurements), name)


def viewing_distance_mm(result: Any) -> float | None:
    """Return the distance from which a result looks at its prints; None where it has none."""
    parameters = getattr(result, "parameters", {})
    if "viewing_distance_mm" in parameters:
        return float(parameters["viewing_distance_mm"])
    grains = (
        float(m.grain.viewing_distance_mm)
        for s in settings_of(result)
        for m in s.measurements
        if m.grain is not None
    )
    return next(grains, None)


def looked_at_from_mm(result: Any) -> float:
    """Return the same, or the usual distance where the result has none."""
    return viewing_distance_mm(result) or VIEWING_DISTANCE_MM


def _named_shots(result: Any) -> Iterator[tuple[str, tuple[Measurement, ...]]]:
    if isinstance(result, Ranking):
        yield from result.measurements.items()
    elif isinstance(result, Ladder):
        yield from ((f"{ppi:g} ppi", shots) for ppi, shots in result.measurements.items())
    elif not isinstance(result, Trend):
        raise InputError(
            f"a {type(result).__name__} cannot be drawn: give a ranking, a ladder or a trend"
        )
