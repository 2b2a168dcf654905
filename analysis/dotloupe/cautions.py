"""What a reader of the numbers must know, as data: one frozen class for each kind of caution."""

from __future__ import annotations

import re
from dataclasses import dataclass


@dataclass(frozen=True)
class Caution:
    """Something that limits what the numbers say.

    Each room declares its own kinds as frozen dataclasses of this one, with typed fields; the
    sentence for each kind is made in `report.text`.
    """

    @property
    def name(self) -> str:
        """Name of the kind in JSON: `OnePrintEach` is `one_print_each`."""
        return re.sub(r"(?<!^)(?=[A-Z])", "_", type(self).__name__).lower()

    def __str__(self) -> str:
        return self.name


@dataclass(frozen=True)
class Stated(Caution):
    """What an error's message says: one line for a person."""

    message: str

    def __str__(self) -> str:
        return self.message
