"""One file examined: is it fit to be measured, and if not, what to do."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from dotloupe.capture.reading import load_capture
from dotloupe.errors import DotloupeError, InputError, RegionError
from dotloupe.fitness.examine import Fitness, examine, examine_unregistered
from dotloupe.measure.edge import EdgeResponse
from dotloupe.registration.register import register
from dotloupe.view import View, view_of


@dataclass(frozen=True)
class Checked:
    """A file and what was found on it.

    Attributes
    ----------
    path : str
    fitness : Fitness or None
        None where the file could not be read.
    unread : str
        Why it could not.
    run, sent_ppi : int or None
        What its marks and its code say; None where they were not found.
    size_mm : (float, float) or None
        Of its patch.
    """

    path: str
    fitness: Fitness | None
    unread: str = ""
    run: int | None = None
    sent_ppi: int | None = None
    size_mm: tuple[float, float] | None = None

    @property
    def verdict(self) -> str:
        """One of three outcomes."""
        if self.fitness is None or not self.fitness.fit:
            return "not fit"
        return "fit, with a warning" if self.fitness.warnings else "fit"

    @property
    def messages(self) -> tuple[str, ...]:
        """What is wrong and what to do, the worst first."""
        if self.fitness is None:
            return (self.unread,)
        return (*self.fitness.reasons, *self.fitness.warnings)


def check_path(path: Path) -> Checked:
    """Read and examine one photograph."""
    try:
        capture = load_capture(path)
    except InputError as error:
        return Checked(str(path), None, str(error).removeprefix(f"{path}: "))
    try:
        view = view_of(capture, register(capture))
    except DotloupeError as error:
        return Checked(str(path), examine_unregistered(capture, str(error)))
    found = view.registration
    fitness = examine(view, _edges(view))
    return Checked(
        str(path),
        fitness,
        run=found.run,
        sent_ppi=found.sent_ppi,
        size_mm=view.patch.size_mm,
    )


def _edges(view: View) -> dict[str, EdgeResponse]:
    """Measure the first mid-tone edge of each direction: enough to see what sharpens."""
    from dotloupe.elements import measure_edge

    found = {}
    for axis in ("x", "y"):
        region = next((r for r in view.regions("edge", axis) if r.tone == "mid"), None)
        try:
            if region is not None:
                found[region.name] = measure_edge(view, region, None)
        except RegionError:
            continue
    return found
