"""What lies on the bench: photographs, their settings, the picture sent, and the comparison."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import asdict, dataclass, field
from functools import partial
from pathlib import Path
from threading import Lock
from typing import Any, Literal

import numpy as np

from dotloupe.errors import InputError
from dotloupe.evaluate import MarkedRegion, region_on_picture
from dotloupe.session import Checked, OwnPictureFile, named_ppi, refuse_duplicates
from dotloupe.workbench.comparing import By, Task, compared
from dotloupe.workbench.examining import Examiner
from dotloupe.workbench.folder import OWN, Found, inside, photographs
from dotloupe.workbench.job import Job
from dotloupe.workbench.notes import (
    LONGEST_SETTING,
    MOST_MARKS,
    HistoryNote,
    Mark,
    Notes,
    PictureNote,
    load_notes,
    save_notes,
)
from dotloupe.workbench.tracking import PrintsOfDay, tracked

REPORT, HISTORY_REPORT, SHEETS = "report", "history_report", "sheets"


@dataclass
class Bench:
    """A folder at work."""

    root: Path
    notes: Notes
    history: Path
    examiner: Examiner = field(default_factory=Examiner)
    comparison: Job = field(default_factory=Job)
    tracking: Job = field(default_factory=Job)
    _lock: Lock = field(default_factory=Lock)

    @property
    def own(self) -> Path:
        """The workbench's own folder."""
        return self.root / OWN

    @property
    def report(self) -> Path:
        """Folder of the report."""
        return self.own / REPORT

    @property
    def history_report(self) -> Path:
        """Folder of the history's report."""
        return self.own / HISTORY_REPORT

    @property
    def sheets(self) -> Path:
        """Folder of the patches to print."""
        return self.own / SHEETS

    def found(self) -> tuple[dict[str, Found], tuple[str, ...]]:
        """Photographs in the folder now, and names that lead out of it."""
        here, outside = photographs(self.root)
        self.examiner.watch(here.values())
        return here, outside

    def one(self, key: str) -> Found:
        """One photograph by its key.

        Raises
        ------
        InputError
            There is none of that key.
        """
        here, _ = self.found()
        if key not in here:
            raise InputError(f"{key}: no such photograph in the folder")
        return here[key]

    def assign(self, keys: list[str], setting: str) -> None:
        """Put photographs to a setting; an empty one takes them from theirs."""
        setting = " ".join(setting.split())
        if len(setting) > LONGEST_SETTING:
            raise InputError(f"a setting's name is at most {LONGEST_SETTING} characters long")
        for key in keys:
            self.one(key)
        with self._lock:
            said = {**self.notes.settings, **dict.fromkeys(keys, setting)}
            self._keep(self.notes.model_copy(update={"settings": said}))

    def took_in(self, path: Path) -> None:
        """Note a photograph that was copied into the folder: nothing was said of it yet."""
        key, status = path.relative_to(self.root).as_posix(), path.stat()
        with self._lock:
            notes = self.notes.without(key)
            copies = {**notes.copies, key: (status.st_size, status.st_mtime_ns)}
            self._keep(notes.model_copy(update={"copies": copies}))

    def leave_out(self, keys: list[str], *, out: bool) -> None:
        """Put photographs out of the comparison, or back into it; their files stay."""
        for key in keys:
            self.one(key)
        with self._lock:
            left = self.notes.left_out | set(keys) if out else self.notes.left_out - set(keys)
            self._keep(self.notes.model_copy(update={"left_out": left}))

    def is_copy(self, one: Found) -> bool:
        """Whether the workbench copied a photograph in, and nobody changed it since."""
        return self.notes.copies.get(one.key) == one.stamp

    def delete(self, key: str) -> None:
        """Delete the workbench's own copy of a photograph that was left out.

        Raises
        ------
        InputError
            It is a person's own file, or takes part in the comparison.
        """
        one = self.one(key)
        if not self.is_copy(one):
            raise InputError(f"{key}: your own file, which is never deleted here; leave it out")
        if key not in self.notes.left_out:
            raise InputError(f"{key}: leave it out of the comparison first")
        with self._lock:
            one.path.unlink(missing_ok=True)
            self._keep(self.notes.without(key))

    def set_picture(self, file: str, name: str) -> None:
        """Take another picture that was sent; nothing is marked on it yet.

        Raises
        ------
        InputError
            It cannot be read.
        """
        from dotloupe.capture import load_capture

        try:
            rows, columns = load_capture(self.own / file).shape
        except InputError:
            self.forget_picture()
            raise
        picture = PictureNote(file=file, name=name, pixels=(columns, rows))
        with self._lock:
            self._keep(self.notes.model_copy(update={"picture": picture, "marks": ()}))

    def forget_picture(self) -> None:
        """Do without a picture that was sent, and delete it from the workbench's own folder."""
        with self._lock:
            for file in self.own.glob("picture.*"):
                file.unlink()
            self._keep(self.notes.model_copy(update={"picture": None, "marks": ()}))

    def picture_path(self) -> Path:
        """Path of the picture that was sent.

        Raises
        ------
        InputError
            There is none.
        """
        if self.notes.picture is None:
            raise InputError("add the picture that was sent first: it says where a region lies")
        return self.own / self.notes.picture.file

    def set_width(self, width_mm: float | None) -> None:
        """Say how wide the picture was printed."""
        with self._lock:
            if self.notes.picture is None:
                raise InputError("add the picture that was sent first: its width is asked for")
            picture = self.notes.picture.model_copy(update={"width_mm": width_mm})
            self._keep(self.notes.model_copy(update={"picture": picture}))

    def mark(
        self, key: str, kind: Literal["edge", "tone"], box: tuple[float, float, float, float]
    ) -> None:
        """Mark a region on a photograph, by shares of its width and height, for all photographs.

        Raises
        ------
        InputError, NotFitError
            There is no picture that was sent, or the photograph does not show it.
        """
        from dotloupe.capture import load_capture
        from dotloupe.registration import register

        picture = self.picture_path()
        if len(self.notes.marks) >= MOST_MARKS:
            raise InputError(f"{MOST_MARKS} regions are marked; remove one first")
        capture = load_capture(self.one(key).path)
        registration = register(capture, picture=picture)
        last_row, last_column = (side - 1 for side in capture.shape)
        left, top, right, bottom = box
        corners = np.array(
            [[x * last_column, y * last_row] for x in (left, right) for y in (top, bottom)]
        )
        region = region_on_picture(kind, corners, registration.homography)
        with self._lock:
            marks = (*self.notes.marks, Mark(**asdict(region)))
            self._keep(self.notes.model_copy(update={"marks": marks}))

    def unmark(self, number: int) -> None:
        """Remove a marked region by its place in the list."""
        with self._lock:
            marks = tuple(m for i, m in enumerate(self.notes.marks) if i != number)
            self._keep(self.notes.model_copy(update={"marks": marks}))

    def compare(self, by: By = "setting") -> None:
        """Begin to compare the settings, or the ppi sent in them.

        Raises
        ------
        InputError
            Fewer than two settings have photographs, one ppi lies in two settings, or a comparison
            runs already.
        """
        taking_part = self.taking_part()
        settings: dict[str, list[Path]] = {}
        for one in taking_part:
            settings.setdefault(self.setting_of(one), []).append(one.path)
        if by == "ppi":
            self._refuse_mixed(taking_part)
        elif len(settings) < 2:
            raise InputError("nothing to compare: assign photographs to two settings or more")
        refuse_duplicates(settings)
        self._refuse_beside(self.tracking)
        picture = None
        if self.notes.picture is not None:
            picture = OwnPictureFile(self.picture_path(), self.notes.picture.width_mm)
        regions = tuple(MarkedRegion(**m.model_dump()) for m in self.notes.marks)
        task = Task(settings, self.report, by, picture, regions)
        if not self.comparison.start(len(taking_part), partial(compared, task)):
            raise InputError("a comparison runs already; wait for it")

    def track(self, setting: str, made: HistoryNote, printed_on: str) -> None:
        """Begin to add a setting's prints to the history and to judge the head.

        Parameters
        ----------
        setting : str
            An empty one adds nothing, and judges what the history holds.
        made : HistoryNote
        printed_on : str

        Raises
        ------
        InputError
            A name is missing, the setting has no photograph, or something runs already.
        """
        missing = [noun for noun, name in made if not name.strip()]
        if missing:
            raise InputError(f"history: give the name of the {' and of the '.join(missing)}")
        paths = [one.path for one in self.taking_part() if self.setting_of(one) == setting]
        if setting and not paths:
            raise InputError(f"{setting}: no photograph has this setting")
        self._refuse_beside(self.comparison)
        with self._lock:
            self._keep(self.notes.model_copy(update={"history": made}))
        prints = PrintsOfDay(**made.model_dump(), printed_on=printed_on, paths=paths)
        work = partial(tracked, prints, self.history, self.history_report)
        if not self.tracking.start(len(paths), work):
            raise InputError("prints are being added already; wait for it")

    def _refuse_beside(self, other: Job) -> None:
        if other.progress.state == "running":
            raise InputError("other photographs are being measured; wait for it")

    def _refuse_mixed(self, photographs: Iterable[Found]) -> None:
        """Refuse a ladder in which one ppi was sent in two settings, as far as is known by now."""
        settings: dict[float, set[str]] = {}
        for one in photographs:
            checked = self.examiner.result(one)
            if checked is not None and checked.sent_ppi:
                settings.setdefault(checked.sent_ppi, set()).add(self.setting_of(one))
        for ppi, names in sorted(settings.items()):
            if len(names) > 1:
                raise InputError(
                    f"{ppi:g} ppi were sent in {' and in '.join(sorted(names))}: compare the ppi "
                    "of one setting, and take the others out of theirs for it"
                )

    def taking_part(self) -> list[Found]:
        """Photographs that take part: those with a setting that nobody left out."""
        here, _ = self.found()
        left_out = self.notes.left_out
        return [one for one in here.values() if self.setting_of(one) and one.key not in left_out]

    def setting_of(self, one: Found) -> str:
        """Setting of a photograph: as assigned, else as its folder is named."""
        return self.notes.settings.get(one.key, one.folder)

    def state(self) -> dict[str, Any]:
        """Everything that the page shows, as plain values."""
        here, outside = self.found()
        progress, tracking = self.comparison.progress, self.tracking.progress
        return {
            "photographs": [self._told(one) for one in here.values()],
            "outside": list(outside),
            "picture": self.notes.picture and self.notes.picture.model_dump(),
            "marks": [m.model_dump() for m in self.notes.marks],
            "comparison": asdict(progress),
            "report": (self.report / "index.html").is_file() and progress.state != "running",
            "tracking": asdict(tracking),
            "history": self.notes.history and self.notes.history.model_dump(),
            "history_report": (self.history_report / "index.html").is_file()
            and tracking.state != "running",
            "sheets": sorted(p.name for p in self.sheets.glob("*.tif")),
        }

    def _told(self, one: Found) -> dict[str, Any]:
        checked, setting = self.examiner.result(one), self.setting_of(one)
        told = _told_fitness(checked)
        if self.notes.picture is not None and checked is not None and checked.run is None:
            # an own picture carries no code
            told["sent_ppi"] = named_ppi(setting)
        return {
            "key": one.key,
            "stamp": "-".join(map(str, one.stamp)),
            "setting": setting,
            "left_out": one.key in self.notes.left_out,
            "copy": self.is_copy(one),
            **told,
        }

    def _keep(self, notes: Notes) -> None:
        save_notes(self.own, notes)
        self.notes = notes


def opened_bench(root: Path, history: Path) -> Bench:
    """Open a folder at work, with what was said there before.

    Parameters
    ----------
    root : Path
    history : Path
        File of the history that prints are added to.

    Raises
    ------
    InputError
        The workbench's own folder leads elsewhere, or its notes cannot be understood.
    """
    own = root / OWN
    if own.is_symlink() or (own.exists() and not inside(root, own)):
        raise InputError(f"{own}: leads out of the folder; remove that link")
    return Bench(root, load_notes(own), history)


def _told_fitness(checked: Checked | None) -> dict[str, Any]:
    if checked is None:
        return {"verdict": "", "readable": True, "messages": [], "run": None, "sent_ppi": None}
    return {
        "verdict": checked.verdict,
        "readable": checked.fitness is not None,
        "messages": list(checked.messages),
        "run": checked.run,
        "sent_ppi": checked.sent_ppi,
    }
