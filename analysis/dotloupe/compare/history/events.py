"""What was done to a printer, and which of it may begin a new baseline."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Literal, TypeAlias, get_args

EventKind: TypeAlias = Literal["alignment", "cleaning", "service", "move", "inks", "paper"]

EVENT_KINDS: tuple[EventKind, ...] = get_args(EventKind)

REPAIRS: frozenset[EventKind] = frozenset({"alignment", "cleaning", "service"})
"""The state after one is the new baseline where it is better or no worse."""

SUPPLIES: frozenset[EventKind] = frozenset({"inks", "paper"})
"""New ones print otherwise by nature: the state after them is a new baseline."""


@dataclass(frozen=True)
class Event:
    """What was done to the printer."""

    kind: EventKind
    happened_on: date
    note: str = ""
