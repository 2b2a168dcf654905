"""Help of a command for a person: what to give, not the type that the program makes of it."""

from __future__ import annotations

import re
from typing import Any

from typer.core import TyperCommand

TYPE_OF_ARGUMENT = re.compile(r"^( +\S+) <[^<>]+>(?: +|\n +(?=\[))?", re.MULTILINE)
"""As the parser writes it behind an argument's name, with what parts it from its help."""


class PlainHelp(TyperCommand):
    """A command whose help leaves the types of its arguments out."""

    def get_help(self, ctx: Any) -> str:
        """Text of the help."""
        return TYPE_OF_ARGUMENT.sub(r"\1  ", super().get_help(ctx))
