"""The comparison that the workbench runs: photographs by setting in, the report out."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Literal

from dotloupe.capture import load_capture, load_picture
from dotloupe.errors import InputError
from dotloupe.evaluate import MarkedRegion, with_marked
from dotloupe.measurement import Measurement, PictureMeasurement
from dotloupe.session import OwnPictureFile, RunOptions, by_sent_ppi, measure_paths, with_named_ppi
from dotloupe.workbench.job import Advance, Progress

if TYPE_CHECKING:
    from dotloupe.compare.ladder import Ladder
    from dotloupe.compare.ranking import Ranking

Measured = dict[str, tuple[Measurement, ...]]
"""Measurements by setting."""
By = Literal["setting", "ppi"]
"""What is set against each other: settings, or the ppi sent in one of them."""


@dataclass(frozen=True)
class Task:
    """What is to be compared.

    Attributes
    ----------
    settings : mapping of str to sequence of Path
        Photographs by setting.
    report : Path
        Folder of the report.
    by : {"setting", "ppi"}
    picture : OwnPictureFile or None
        What photographs without a patch show.
    regions : tuple of MarkedRegion
        Marked on that picture.
    """

    settings: Mapping[str, Sequence[Path]]
    report: Path
    by: By = "setting"
    picture: OwnPictureFile | None = None
    regions: tuple[MarkedRegion, ...] = ()


def compared(task: Task, advance: Advance) -> Progress:
    """Measure, compare and write the report.

    Parameters
    ----------
    task : Task
    advance : callable
        Called with each photograph's name once it is measured.
    """
    from dotloupe.report import write_report
    from dotloupe.report.text import caution_text

    measured = _measured(task, advance)
    result, said = _climbed(measured) if task.by == "ppi" else _ranked(measured)
    write_report(result, task.report)
    out = tuple(
        f"{Path(o.path).name}: {', '.join(map(caution_text, o.reasons))}" for o in result.left_out
    )
    total = sum(map(len, measured.values()))
    return Progress("done", total, total, 0.0, "", said, out)


def _ranked(measured: Measured) -> tuple[Ranking, tuple[str, ...]]:
    from dotloupe.compare.ranking import rank
    from dotloupe.report import ranking_model
    from dotloupe.report.text import ranking_verdict

    ranking = rank(measured)
    return ranking, ranking_verdict(ranking_model(ranking)).sentences


def _climbed(measured: Measured) -> tuple[Ladder, tuple[str, ...]]:
    from dotloupe.compare.ladder import ladder
    from dotloupe.report import ladder_model
    from dotloupe.report.text import ladder_verdict

    shots = [m for group in with_named_ppi(measured).values() for m in group]
    climbed = ladder(by_sent_ppi(shots))
    return climbed, ladder_verdict(ladder_model(climbed)).sentences


def _measured(task: Task, advance: Advance) -> Measured:
    paths = [p for group in task.settings.values() for p in group]
    options = RunOptions(picture=task.picture, progress=advance)
    results: dict[str, list[Measurement]] = {}
    for m in measure_paths(paths, options):
        results.setdefault(m.path, []).append(m)
    if task.picture is not None and task.regions:
        ppi = load_picture(task.picture.path, task.picture.print_width_mm).ppi
        if ppi is None:
            raise InputError("say how wide the picture was printed, in mm: regions need a scale")
        for path, (measured, *_) in results.items():
            if isinstance(measured, PictureMeasurement):
                results[path] = [with_marked(measured, load_capture(path), ppi, task.regions)]
    return {
        name: _told_apart([m for p in group for m in results[str(p)]])
        for name, group in task.settings.items()
    }


def _told_apart(measured: Sequence[Measurement]) -> tuple[Measurement, ...]:
    """Measurements of one setting, with prints of one name from several folders named apart."""
    folders: dict[str, set[str]] = {}
    for m in measured:
        folders.setdefault(m.print_id, set()).add(Path(m.path).parent.name)
    return tuple(
        replace(m, print_id=f"{Path(m.path).parent.name} {m.print_id}")
        if len(folders[m.print_id]) > 1
        else m
        for m in measured
    )
