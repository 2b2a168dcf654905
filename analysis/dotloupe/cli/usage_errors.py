"""What the command says of words that it cannot use: which word, what is wrong, what to do."""

from __future__ import annotations

import re
from collections.abc import Sequence
from difflib import get_close_matches
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import typer

WANTED = {
    "a valid integer": "a whole number",
    "a valid number": "a number",
    "less than or equal to": "at most",
    "greater than or equal to": "at least",
}
"""What is wanted, from the parser's words to ours."""


def usage_line(error: typer.TyperException, words: Sequence[str]) -> str:
    """Say in one line what is wrong with the words given, and what to do.

    Parameters
    ----------
    error : TyperException
        As the parser raised it.
    words : sequence of str
        What was typed after the command's name.
    """
    context: Any = getattr(error, "ctx", None)
    if context is not None:
        path = context.command_path
    else:
        path = " ".join(("dotloupe", *(w for w in words[:1] if not w.startswith("-"))))
    telling = _TELLING.get(type(error).__name__, _other)
    shown = "every command" if path == "dotloupe" or _commands(context) else "an example"
    return f"{telling(error, words)}; {path} --help shows {shown}"


def _commands(context: Any) -> Sequence[str]:
    return list(getattr(getattr(context, "command", None), "commands", ()))


def _bad_value(error: Any, words: Sequence[str]) -> str:
    name = _name(error.param) if error.param is not None else str(error.param_hint or "")
    said = str(error.message).partition(",")[0].rstrip(".").removeprefix("Input should be ")
    for theirs, ours in WANTED.items():
        said = said.replace(theirs, ours)
    return f"{name} {_given(error.param, words)}: give {said}{_meaning(error.param)}"


def _missing(error: Any, _: Sequence[str]) -> str:
    if error.param is None:
        return str(error.format_message()).rstrip(".")
    place = f"{error.ctx.info_name}: " if error.ctx is not None else ""
    return f"{place}give {_name(error.param)}{_meaning(error.param)}"


def _no_option(error: Any, _: Sequence[str]) -> str:
    close = f", did you mean {error.possibilities[0]}?" if error.possibilities else ""
    return f"there is no option {error.option_name}{close}"


def _no_value(error: Any, _: Sequence[str]) -> str:
    return f"{error.option_name}: what belongs to it is missing"


def _other(error: Any, words: Sequence[str]) -> str:
    context: Any = getattr(error, "ctx", None)
    said = str(error.format_message()).rstrip(".")
    if commands := _commands(context):
        typed = words[len(context.command_path.split()) - 1 :]
        wrong = next((w for w in typed if w not in commands and not w.startswith("-")), "")
        if wrong:
            close = get_close_matches(wrong, commands, 1)
            return f"there is no command {wrong}" + (f", did you mean {close[0]}?" if close else "")
    extra = re.fullmatch(
        r"Got unexpected extra arguments?(?:\(s\))? \((.*)\)", error.format_message()
    )
    if extra:
        return f"{extra[1]}: more than it takes; names with blanks stand in quotes"
    return said


_TELLING = {
    "BadParameter": _bad_value,
    "MissingParameter": _missing,
    "NoSuchOption": _no_option,
    "BadOptionUsage": _no_value,
}


def _name(param: Any) -> str:
    """Name by which a person gives it."""
    options = [o for o in getattr(param, "opts", ()) if o.startswith("-")]
    return max(options, key=len) if options else str(param.metavar or param.name)


def _meaning(param: Any) -> str:
    told = str(getattr(param, "help", "") or "").rstrip(".")
    return f" ({_lowered(told)})" if told else ""


def _lowered(told: str) -> str:
    """Lower the first letter, but not that of an abbreviation."""
    return told if told[1:2].isupper() else told[:1].lower() + told[1:]


def _given(param: Any, words: Sequence[str]) -> str:
    """Return the value that was typed for an option; empty where it cannot be told."""
    options = set(getattr(param, "opts", ()))
    for word, following in zip(words, [*words[1:], ""], strict=True):
        if word in options:
            return following
        if word.partition("=")[0] in options:
            return word.partition("=")[2]
    return ""
