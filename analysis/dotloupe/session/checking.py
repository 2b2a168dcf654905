"""One file examined: is it fit to be measured, and if not, what to do."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from dotloupe.capture import Capture, SentPicture
from dotloupe.cautions import Caution
from dotloupe.errors import DotloupeError, InputError
from dotloupe.evaluate import comparison_cautions, examine_own_picture, measure_edges
from dotloupe.fitness import (
    Fitness,
    Severity,
    Verdict,
    examine,
    examine_unregistered,
    judge_together,
    sharpening_regions,
)
from dotloupe.processes import DIED
from dotloupe.registration import (
    FoundMarks,
    PrintedScale,
    Registration,
    find_all_marks,
    in_true_mm,
    register,
    view_of,
)
from dotloupe.session.measuring import read_capture
from dotloupe.session.options import DEFAULT_OPTIONS, RunOptions
from dotloupe.session.own_picture_option import marks_round_picture


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
    on_picture : Registration or None
        Where it lies in one's own picture.
    cautions : tuple of Caution
        What the comparison with the picture warns of, or how large the patch was printed.
    """

    path: str
    fitness: Fitness | None
    unread: str = ""
    run: int | None = None
    sent_ppi: int | None = None
    size_mm: tuple[float, float] | None = None
    on_picture: Registration | None = None
    cautions: tuple[Caution, ...] = ()

    @property
    def verdict(self) -> str:
        """Fit, not fit or cannot tell, and whether a warning goes with fit."""
        verdict = self._plain_verdict
        if verdict is not Verdict.FIT or self.fitness is None:
            return verdict.value
        return "fit, with a warning" if self.fitness.warnings or self.cautions else "fit"

    @property
    def _plain_verdict(self) -> Verdict:
        return Verdict.NOT_FIT if self.fitness is None else self.fitness.verdict

    @property
    def messages(self) -> tuple[str, ...]:
        """What is wrong or cannot be told, and what to do, the worst first."""
        from dotloupe.report.text import caution_text

        if self.fitness is None:
            return (self.unread,)
        return tuple(map(caution_text, (*self.fitness.findings, *self.cautions)))

    @property
    def place(self) -> str:
        """Where it lies in one's own picture; empty where it does not show one."""
        from dotloupe.report.text import place_text

        return "" if self.on_picture is None else place_text(self.on_picture)

    def to_dict(self) -> dict[str, Any]:
        """Plain values for a JSON file."""
        return {
            "path": self.path,
            "run": self.run,
            "verdict": self._plain_verdict.value,
            "findings": [
                {"name": name, "severity": severity, "message": message}
                for (name, severity), message in zip(self._names(), self.messages, strict=True)
            ],
        }

    def _names(self) -> tuple[tuple[str, str], ...]:
        """Name and severity of each message."""
        if self.fitness is None:
            return (("unreadable", Severity.NOT_FIT.value),)
        found = ((f.name, f.severity.value) for f in self.fitness.findings)
        names = ("scale" if isinstance(c, PrintedScale) else "comparison" for c in self.cautions)
        return (*found, *((name, Severity.WARNING.value) for name in names))


def check_file(path: Path, options: RunOptions = DEFAULT_OPTIONS) -> tuple[Checked, ...]:
    """Read a file and examine each patch in it; one without marks against the picture, if given.

    Parameters
    ----------
    path : Path
    options : RunOptions
    """
    try:
        capture = read_capture(path, options)
    except InputError as error:
        return (Checked(str(path), None, str(error).removeprefix(f"{path}: ")),)
    marks = None if options.picture is None else marks_round_picture(capture)
    if options.picture is not None and marks is not None:
        return (_against_picture(capture, options.picture.load(), marks),)
    try:
        return tuple(_of_patch(capture, marks) for marks in find_all_marks(capture))
    except DotloupeError as error:
        return (Checked(str(path), examine_unregistered(capture, str(error))),)


def _of_patch(capture: Capture, marks: FoundMarks) -> Checked:
    found = in_true_mm(register(capture, marks=marks), capture)
    view = view_of(capture, found)
    edges = measure_edges(view, None, sharpening_regions(view))
    return Checked(
        capture.path,
        examine(view, edges.results),
        run=marks.run,
        sent_ppi=view.registration.sent_ppi,
        size_mm=view.patch.size_mm,
        cautions=tuple(c for c in found.cautions if isinstance(c, PrintedScale)),
    )


def check_together(checked: Sequence[Checked]) -> list[Checked]:
    """Judge photographs of one folder together: those of one file tell of each other's focus.

    A folder is a setting; one file printed in two settings may well be softer in one of them.

    Parameters
    ----------
    checked : sequence of Checked
    """
    folders: dict[Path, list[int]] = {}
    for n, one in enumerate(checked):
        folders.setdefault(Path(one.path).parent, []).append(n)
    judged = list(checked)
    for members in folders.values():
        names = [Path(checked[n].path).name for n in members]
        found = judge_together([checked[n].fitness for n in members], names)
        for n, fitness in zip(members, found, strict=True):
            judged[n] = replace(checked[n], fitness=fitness)
    return judged


def died(path: Path) -> tuple[Checked, ...]:
    """Stand for a photograph that the process died of that read it."""
    return (Checked(str(path), None, DIED),)


def _against_picture(
    capture: Capture, picture: SentPicture, marks: tuple[FoundMarks, ...]
) -> Checked:
    """Examine a photograph of one's own picture as it would be measured."""
    seen = examine_own_picture(capture, picture, marks)
    return Checked(
        capture.path,
        seen.fitness,
        on_picture=seen.registration,
        cautions=() if seen.found is None else comparison_cautions(seen.found, picture),
    )
