"""One's own picture as a person gives it: its file, and how wide it was printed."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from dotloupe.capture import Capture, SentPicture
    from dotloupe.registration import FoundMarks


@dataclass(frozen=True)
class OwnPictureFile:
    """The picture that photographs without marks show, and the width of its print if given."""

    path: Path
    print_width_mm: float | None = None

    @property
    def content_key(self) -> str:
        """Name of its content and of the width of its print.

        Raises
        ------
        InputError
            It is no picture that can be read.
        """
        return f"{self.load().sha256} {self.print_width_mm}"

    def load(self) -> SentPicture:
        """Read the picture, once as long as its file holds the same.

        Raises
        ------
        InputError
            It is no picture that can be read.
        """
        from dotloupe.storage import cache

        return _load(self, cache.file_digest(self.path))


@lru_cache(maxsize=1)
def _load(picture: OwnPictureFile, _content: str | None) -> SentPicture:
    from dotloupe.capture import load_picture

    return load_picture(picture.path, picture.print_width_mm)


def marks_round_picture(capture: Capture) -> tuple[FoundMarks, ...] | None:
    """Marks of frames round parts of a picture, none where none is seen; None of a patch."""
    from dotloupe.registration import frame_of, marks_in_sight

    marks = marks_in_sight(capture)
    return None if marks and frame_of(capture, marks[0]) is None else marks
