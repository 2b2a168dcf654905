"""Under which circumstances a result was found: what a person says of it, and a plan names."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field


@dataclass(frozen=True)
class Circumstances:
    """What a report says of a test beside its numbers.

    Attributes
    ----------
    title : str
        The person's own title; empty for none.
    note : str
        Anything else: who tested, and when, in the person's own words.
    named : mapping of str to str
        What a session file or a history names, as "printer" or "paper", to its value.
    """

    title: str = ""
    note: str = ""
    named: Mapping[str, str] = field(default_factory=dict)
