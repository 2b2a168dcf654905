"""Prints of a day put into a printer's history, and the head judged by all of it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from dotloupe.session import RunOptions, measure_paths, readable
from dotloupe.workbench.job import Advance, Progress


@dataclass(frozen=True)
class PrintsOfDay:
    """Photographs of prints that one printer made on one day.

    Attributes
    ----------
    printer, paper, mode : str
    printed_on : str
        Day of printing, as ``2026-03-12``.
    paths : sequence of Path
        Empty to judge what the history holds already.
    """

    printer: str
    paper: str
    mode: str
    printed_on: str
    paths: Sequence[Path]


def tracked(prints: PrintsOfDay, file: Path, report: Path, advance: Advance) -> Progress:
    """Measure prints, add them to a history, judge the head and write the report.

    Parameters
    ----------
    prints : PrintsOfDay
    file : Path
        Of the history; made where there is none.
    report : Path
        Folder of the report.
    advance : callable
        Called with each photograph's name once it is measured.
    """
    from dotloupe.compare.history import History
    from dotloupe.report import Circumstances, history_model, write_report
    from dotloupe.report.text import caution_text, history_verdict

    history = History(file)
    names = {"printer": prints.printer, "paper": prints.paper, "mode": prints.mode}
    added: tuple[str, ...] = ()
    if prints.paths:
        measured = readable(measure_paths(prints.paths, RunOptions(progress=advance)))
        added = history.add(measured, **names, printed_on=prints.printed_on, words=caution_text)
    verdict = history.verdict(
        printer=prints.printer.strip(), mode=prints.mode.strip(), paper=prints.paper.strip()
    )
    write_report(verdict, report, circumstances=Circumstances(named=names))
    total = len(prints.paths)
    new = f"{len(added)} of {total} photographs are new to the history." if total else ""
    said = history_verdict(history_model(verdict)).sentences
    return Progress("done", total, total, 0.0, new, said)
