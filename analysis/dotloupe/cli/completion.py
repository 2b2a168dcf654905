"""Completion of words in the shell, by argcomplete."""

from __future__ import annotations

import os
from collections.abc import Mapping
from importlib import import_module

ASKED_FOR = "_ARGCOMPLETE" in os.environ
"""Set by the shell's completion, which runs the command to ask what may follow."""


def complete(commands: Mapping[str, tuple[str, str]]) -> None:
    """Answer the shell with what may follow the words typed, and end.

    Parameters
    ----------
    commands : mapping of str to (str, str)
        Each command's module and purpose, by its one or two words.
    """
    from argparse import ArgumentParser

    import argcomplete

    whole = ArgumentParser(prog="dotloupe")
    levels = {"": whole.add_subparsers()}
    for name, (module, _) in commands.items():
        group, _, word = name.rpartition(" ")
        if group not in levels:
            levels[group] = levels[""].add_parser(group).add_subparsers()
        parser = import_module(f"dotloupe.cli.{module}").parser()
        levels[group].add_parser(word, parents=[parser], conflict_handler="resolve")
    argcomplete.autocomplete(whole)
