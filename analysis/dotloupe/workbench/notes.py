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


class HistoryNote(_Note):
    """What the prints added last were made with, to be proposed again."""

    printer: str
    paper: str
    mode: str


class Notes(_Note):
    """What was said of photographs, by their keys, of the picture that was sent, and its regions.

    Attributes
    ----------
    settings : dict of str to str
    left_out : frozenset of str
        Photographs put out of the comparison.
    copies : dict of str to (int, int)
        Size and time of change of the photographs that the workbench copied into the folder. No
        other file of a person's is ever deleted.
    picture : PictureNote or None
    marks : tuple of Mark
    history : HistoryNote or None
    """

    settings: dict[str, str] = Field(default_factory=dict)
    left_out: frozenset[str] = frozenset()
    copies: dict[str, tuple[int, int]] = Field(default_factory=dict)
    picture: PictureNote | None = None
    marks: tuple[Mark, ...] = Field(default=(), max_length=MOST_MARKS)
    history: HistoryNote | None = None

    def without(self, key: str) -> Notes:
        """Notes in which nothing is said of a photograph, as it is gone or new."""
        return self.model_copy(
            update={
                "settings": {k: said for k, said in self.settings.items() if k != key},
                "left_out": self.left_out - {key},
                "copies": {k: stamp for k, stamp in self.copies.items() if k != key},
            }
        )


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
