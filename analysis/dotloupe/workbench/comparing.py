"""The comparison that the workbench runs: photographs by setting in, the report out."""

from __future__ import annotations

import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from threading import Lock, Thread
from typing import TYPE_CHECKING, Literal

from dotloupe.capture import load_capture, load_picture
from dotloupe.errors import DotloupeError, InputError
from dotloupe.evaluate import MarkedRegion, with_marked
from dotloupe.measurement import Measurement, PictureMeasurement
from dotloupe.session import OwnPictureFile, RunOptions, by_sent_ppi, measure_paths, with_named_ppi

if TYPE_CHECKING:
    from dotloupe.compare.ladder import Ladder
    from dotloupe.compare.ranking import Ranking

Measured = dict[str, tuple[Measurement, ...]]
"""Measurements by setting."""
State = Literal["idle", "running", "done", "failed"]
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


@dataclass(frozen=True)
class Progress:
    """How far the comparison is."""

    state: State = "idle"
    done: int = 0
    total: int = 0
    seconds_left: float | None = None
    message: str = ""
    verdict: tuple[str, ...] = ()
    left_out: tuple[str, ...] = ()


@dataclass
class Comparison:
    """Runs one comparison at a time beside the server."""

    _lock: Lock = field(default_factory=Lock)
    _progress: Progress = field(default_factory=Progress)

    @property
    def progress(self) -> Progress:
        """How far it is."""
        with self._lock:
            return self._progress

    def start(self, task: Task) -> bool:
        """Begin, unless one runs already."""
        total = sum(map(len, task.settings.values()))
        with self._lock:
            if self._progress.state == "running":
                return False
            self._progress = Progress("running", 0, total)
        Thread(target=self._run, args=(task,), daemon=True).start()
        return True

    def _run(self, task: Task) -> None:
        started, total, done = time.monotonic(), self.progress.total, 0

        def advance(_: str) -> None:
            nonlocal done
            done += 1
            left = (time.monotonic() - started) / done * (total - done)
            self._tell(Progress("running", done, total, left))

        try:
            self._tell(_compared(task, advance))
        except DotloupeError as error:
            from dotloupe.report.text import error_text

            self._tell(Progress("failed", message=error_text(error)))
        except Exception as error:  # noqa: BLE001 - said in the page; the server goes on
            self._tell(Progress("failed", message=f"unexpected: {error!r}"))

    def _tell(self, progress: Progress) -> None:
        with self._lock:
            self._progress = progress


def _compared(task: Task, advance: Callable[[str], None]) -> Progress:
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


def _measured(task: Task, advance: Callable[[str], None]) -> Measured:
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
        name: tuple(m for p in group for m in results[str(p)])
        for name, group in task.settings.items()
    }
