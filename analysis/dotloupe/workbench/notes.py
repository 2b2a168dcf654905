"""What a person said at the workbench, kept in the folder so that it is there the next time."""

from __future__ import annotations

from pathlib import Path
from typing import Literal

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from dotloupe.errors import InputError
from dotloupe.storage import make_folder, write_text

FILE = "notes.json"
LONGEST_SETTING = 200
MOST_MARKS = 40


class _Note(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)


class Mark(_Note):
    """A region marked by hand, in pixels of the picture that was sent."""

    kind: Literal["edge", "tone"]
    left: float
    top: float
    right: float
    bottom: float


class PictureNote(_Note):
    """The own picture that was printed: its file in the workbench's own folder, its size."""

    file: str = Field(pattern=r"^picture\.[a-z]{3,4}$")
    name: str
    pixels: tuple[int, int]
    width_mm: float | None = Field(default=None, gt=0, le=5000, allow_inf_nan=False)


class Notes(_Note):
    """Settings by photograph, the picture that was sent, and regions marked on it."""

    settings: dict[str, str] = Field(default_factory=dict)
    picture: PictureNote | None = None
    marks: tuple[Mark, ...] = Field(default=(), max_length=MOST_MARKS)


def load_notes(own: Path) -> Notes:
    """Read the notes of a folder; none are empty notes.

    Raises
    ------
    InputError
        They are there and cannot be understood.
    """
    file = own / FILE
    try:
        return Notes.model_validate_json(file.read_bytes()) if file.is_file() else Notes()
    except (OSError, ValidationError) as error:
        raise InputError(
            f"{file}: cannot be understood; delete it, and assign the photographs again"
        ) from error


def save_notes(own: Path, notes: Notes) -> None:
    """Keep the notes."""
    make_folder(own)
    write_text(own / FILE, notes.model_dump_json(indent=1) + "\n")
