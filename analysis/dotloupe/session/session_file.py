"""The plan of a test: a session file that names its prints and their photographs."""

from __future__ import annotations

import re
import tomllib
from dataclasses import dataclass
from datetime import date
from difflib import get_close_matches
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

from pydantic import BaseModel, Field, PrivateAttr, ValidationError

from dotloupe.capture import RAW_SUFFIXES, SUFFIXES, UNREAD_SUFFIXES
from dotloupe.errors import InputError
from dotloupe.patch import HIGHEST_PPI, LARGEST_CORNER_MM, LAST_RUN, LOWEST_PPI
from dotloupe.session.choices import (
    FACTORS,
    Choices,
    FiniteNumber,
    Level,
    Name,
    Table,
    level_name,
    share_choices,
)
from dotloupe.session.own_picture_option import OwnPictureFile
from dotloupe.units import VIEWING_DISTANCE_MM

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

Files = Annotated[tuple[Name, ...], Field(strict=False, min_length=1)]
Millimetres = Annotated[int, Field(ge=0, le=LARGEST_CORNER_MM)]
Location = tuple[int | str, ...]


class SheetSize(Table):
    """Size of the file that is sent for every run, in mm."""

    width_mm: float = Field(gt=0, le=3000, allow_inf_nan=False)
    height_mm: float = Field(gt=0, le=3000, allow_inf_nan=False)


class FramedPicture(Table):
    """One's own picture, a part of which every run prints in a frame of marks.

    `frame_mm` is where that part has its upper left corner in the picture's print.
    """

    file: Name
    print_width_mm: float = Field(gt=0, le=10000, allow_inf_nan=False)
    frame_mm: Annotated[tuple[Millimetres, Millimetres], Field(strict=False)]


class Run(Choices):
    """One patch as it was sent and printed.

    `captures` names the photographs of its print; `prints` does so print by print, where the
    same file was printed more than once. `print_seconds` is the time that its print took.
    """

    run: int = Field(ge=0, le=LAST_RUN)
    printer: Name
    paper: Name
    ppi: int = Field(ge=LOWEST_PPI, le=HIGHEST_PPI)
    mode: Name
    alignment: str = ""
    factors: dict[Name, Name | FiniteNumber] = Field(default_factory=dict)
    label: str = ""
    printed: date | None = None
    captures: Files | None = None
    prints: Annotated[tuple[Files, ...], Field(strict=False, min_length=1)] | None = None


class Plan(Choices):
    """What is printed, on what, and where the photographs of it are."""

    viewing_distance_mm: float = Field(default=VIEWING_DISTANCE_MM, gt=0, allow_inf_nan=False)
    sheet: SheetSize | None = None
    picture: FramedPicture | None = None
    runs: Annotated[tuple[Run, ...], Field(strict=False, min_length=1)]

    _path: Path = PrivateAttr(default=Path())
    _lines: dict[Location, int] = PrivateAttr(default_factory=dict)

    def model_post_init(self, context: Any) -> None:
        """Keep where the content was read from."""
        self._path, self._lines = context

    @property
    def path(self) -> Path:
        """The session file."""
        return self._path

    @property
    def picture_file(self) -> OwnPictureFile | None:
        """The picture that its runs frame, where they do."""
        if self.picture is None:
            return None
        file = self._path.parent / self.picture.file
        return OwnPictureFile(file, self.picture.print_width_mm)

    def version_file(self, run: Run) -> Path | None:
        """File of the version that a run sends; None where it sends the picture itself."""
        if self.picture is None or run.sent in (None, self.picture.file):
            return None
        return self._path.parent / run.sent

    def fault(self, location: Location, message: str) -> InputError:
        """Error that names the file, the line where it can be had, and the key."""
        return InputError(f"{_where(self._path, self._lines, location)}: {message}")


@dataclass(frozen=True)
class PlannedCapture:
    """One photograph that a plan names.

    Attributes
    ----------
    path : Path
        The file.
    setting : str
        The setting of its print, by what differs over the plan.
    print_id : str
        Captures that share it are photographs of one print.
    run : Run
        What was printed.
    """

    path: Path
    setting: str
    print_id: str
    run: Run


def load_plan(path: str | Path) -> Plan:
    """Read and check a session file.

    Raises
    ------
    InputError
        It cannot be read, is not TOML, or a key is unknown, missing or impossible; the message
        names the file, and the line and the key where they can be had.
    """
    path = Path(path)
    text = _text(path)
    try:
        content = tomllib.loads(text)
    except RecursionError as error:
        raise InputError(f"{path}: not a session file, nested too deeply; simplify it") from error
    except ValueError as error:
        raise InputError(f"{path}: not valid TOML, {error}; correct that place") from error
    lines = _lines(text)
    share_choices(content)
    try:
        plan = Plan.model_validate(content, context=(path, lines))
    except ValidationError as error:
        raise InputError(_validation_line(path, lines, error)) from error
    first: dict[int, int] = {}
    for index, run in enumerate(plan.runs):
        if first.setdefault(run.run, index) != index:
            message = f"run {run.run} is there already; give each print's patch its own number"
            raise plan.fault(("runs", index, "run"), message)
        if run.captures is not None and run.prints is not None:
            message = "captures and prints in one run; name its photographs in one of them"
            raise plan.fault(("runs", index, "prints"), message)
        if run.sent is not None and plan.picture is None:
            message = "a version of no picture; add [picture] with file, print_width_mm, frame_mm"
            raise plan.fault(("runs", index, "sent"), message)
        if taken := [name for name in run.factors if name in Run.model_fields]:
            message = f"{taken[0]} is a key of its own; write it outside factors"
            raise plan.fault(("runs", index, "factors"), message)
    return plan


def print_seconds(plan: Plan) -> dict[float, float]:
    """Mean time of a print by the ppi sent, of the runs that note it."""
    noted: dict[float, list[float]] = {}
    for run in plan.runs:
        if run.print_seconds is not None:
            noted.setdefault(float(run.ppi), []).append(run.print_seconds)
    return {ppi: sum(times) / len(times) for ppi, times in noted.items()}


def run_levels(runs: Sequence[Run]) -> tuple[dict[str, Level], ...]:
    """Level of every factor that a run names, for each run; what one leaves out is empty."""
    further = list(dict.fromkeys(name for run in runs for name in run.factors))
    return tuple(
        {
            **{name: getattr(run, name) or "" for name in FACTORS},
            **{name: run.factors.get(name, "") for name in further},
        }
        for run in runs
    )


def setting_names(plan: Plan) -> tuple[str, ...]:
    """Setting of each run: its mode, and whatever else differs over the plan's runs.

    Raises
    ------
    InputError
        Two settings would bear one name.
    """
    levels = run_levels(plan.runs)
    varied = [name for name in levels[0] if len({each[name] for each in levels}) > 1] or ["mode"]
    names: list[str] = []
    owner: dict[str, tuple[Level, ...]] = {}
    for index, each in enumerate(levels):
        chosen = tuple(each[name] for name in varied)
        words = (level_name(name, each[name]) for name in varied)
        name = ", ".join(filter(None, words)) or str(each["mode"])
        if owner.setdefault(name, chosen) != chosen:
            message = f"another setting is named {name!r} too; give its mode another name"
            raise plan.fault(("runs", index, "mode"), message)
        names.append(name)
    return tuple(names)


def printed_together(plan: Plan) -> tuple[str, ...]:
    """What the driver is set to for each run, by what differs over the plan.

    Runs of which it is the same can be printed in one go: what is sent, and its ppi, are the
    file's.
    """
    levels = run_levels(plan.runs)
    of_driver = [name for name in levels[0] if name not in ("ppi", "sent")]
    varied = [name for name in of_driver if len({each[name] for each in levels}) > 1] or ["mode"]
    return tuple(
        ", ".join(filter(None, (level_name(name, each[name]) for name in varied)))
        for each in levels
    )


def planned_captures(plan: Plan) -> tuple[PlannedCapture, ...]:
    """Every photograph that the plan names, in its order; runs without one are left out.

    Raises
    ------
    InputError
        A file is missing or named twice, a pattern matches no photograph, no run names one.
    """
    found: list[PlannedCapture] = []
    owner: dict[tuple[Path, int], str] = {}
    for index, (run, setting) in enumerate(zip(plan.runs, setting_names(plan), strict=True)):
        for key, print_id, files in _prints(run):
            for path in (p for f in files for p in _matches(plan, ("runs", index, key), f)):
                # a scan of several patches stands for one print of each of its runs
                place = (path.resolve(), run.run)
                if place in owner:
                    message = f"{path} is named for {owner[place]} already; name it once"
                    raise plan.fault(("runs", index, key), message)
                owner[place] = print_id
                found.append(PlannedCapture(path, setting, print_id, run))
    if not found:
        raise InputError(f'{plan.path}: no run names photographs; add captures = ["..."] to them')
    return tuple(found)


def _prints(run: Run) -> Iterator[tuple[str, str, Files]]:
    """Key, name and files of each print of a run."""
    if run.captures is not None:
        yield "captures", f"run {run.run}", run.captures
    for number, files in enumerate(run.prints or (), start=1):
        yield "prints", f"run {run.run}, print {number}", files


def _matches(plan: Plan, location: Location, name: str) -> list[Path]:
    """Find the file named, or the photographs that a pattern names."""
    try:
        paths = _named(plan.path.parent, name)
    except (OSError, ValueError, IndexError) as error:
        why = error.strerror if isinstance(error, OSError) else error
        raise plan.fault(location, f"{name}: {why}; check the name") from error
    folder = plan.path.parent
    if paths == [folder / name]:
        return paths
    if not _is_pattern(name):
        message = f"{folder / name} is not a file; check the name, relative to the session file"
        raise plan.fault(location, message)
    if Path(name).is_absolute():
        raise plan.fault(location, f"pattern {name}: write it relative to the session file")
    if not paths:
        raise plan.fault(location, f"{name} matches no photograph; check the pattern")
    raws = {p.with_suffix("") for p in paths if p.suffix.lower() in RAW_SUFFIXES}
    return [
        p for p in paths
        if p.suffix.lower() in RAW_SUFFIXES or p.with_suffix("") not in raws
    ]  # fmt: skip


def _named(folder: Path, name: str) -> list[Path]:
    """Return the file of this name, or else the photographs that it matches as a pattern."""
    if (folder / name).is_file():
        return [folder / name]
    if Path(name).is_absolute() or not _is_pattern(name):
        return []
    return [
        p
        for p in sorted(folder.glob(name))
        if p.suffix.lower() in (*SUFFIXES, *UNREAD_SUFFIXES) and p.is_file()
    ]


def _is_pattern(name: str) -> bool:
    return re.search(r"[*?\[]", name) is not None


def _text(path: Path) -> str:
    try:
        return path.read_text("utf-8-sig")
    except FileNotFoundError as error:
        raise InputError(f"{path}: there is no such session file; check the name") from error
    except UnicodeDecodeError as error:
        raise InputError(f"{path}: not a text in UTF-8; save it as one") from error
    except OSError as error:
        raise InputError(f"{path}: cannot be read ({error.strerror}); check it") from error


def _lines(text: str) -> dict[Location, int]:
    """Line of each table and of each key at a line's start, by its place in the content."""
    lines: dict[Location, int] = {}
    counts: dict[str, int] = {}
    table: Location = ()
    for number, line in enumerate(text.splitlines(), start=1):
        if header := re.match(r"\s*(\[\[?)\s*([\w-]+)\s*\]", line):
            name = header[2]
            counts[name] = counts.get(name, -1) + 1
            table = (name, counts[name]) if header[1] == "[[" else (name,)
            lines[table] = number
        elif key := re.match(r"\s*([\w-]+)\s*=", line):
            lines.setdefault((*table, key[1]), number)
    return lines


def _where(path: Path, lines: Mapping[Location, int], location: Sequence[int | str]) -> str:
    """Name the file, the line of the key or of the table around it, and the key."""
    prefixes = (tuple(location[:n]) for n in range(len(location), 0, -1))
    line = next((lines[p] for p in prefixes if p in lines), None)
    if line is None:
        return f"{path}, {'.'.join(map(str, location))}"
    key = [part for part in location if isinstance(part, str)][-1]
    return f"{path}, line {line}, {key}"


def _validation_line(path: Path, lines: Mapping[Location, int], error: ValidationError) -> str:
    every = error.errors(include_url=False)
    shared = {f["loc"] for f in every}
    # what the top says for all runs is at fault once
    faults = [f for f in every if f["loc"][0] != "runs" or f["loc"][2:] not in shared]
    # a key that was misspelt is also missing: the spelling is what to correct
    faults.sort(key=lambda fault: fault["type"] != "extra_forbidden")
    fault, more = faults[0], len(faults) - 1
    location = fault["loc"]
    line = f"{_where(path, lines, location)}: {_told(fault, location)}"
    return line + (f" (and {more} more to correct)" if more else "")


def _told(fault: Any, location: Sequence[int | str]) -> str:
    """What is wrong with a key, and what to do."""
    if fault["type"] == "extra_forbidden":
        tables: dict[str, type[BaseModel]] = {"runs": Run, "sheet": SheetSize}
        table = tables.get(str(location[0]), Plan) if len(location) > 1 else Plan
        meant = get_close_matches(str(location[-1]), table.model_fields, n=1)
        guess = f" did you mean {meant[0]}?" if meant else ""
        return f"unknown key;{guess} The keys are {', '.join(table.model_fields)}"
    if fault["type"] == "missing":
        return "missing; add it"
    said = str(fault["msg"]).removeprefix("Input ").removeprefix("String ")
    got = fault["input"]
    return said + (f", not {got!r}" if isinstance(got, (str, int, float)) else "")
