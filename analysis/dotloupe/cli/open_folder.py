"""The part of the command that opens the workbench."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer


def open_folder(
    folder: Annotated[Path, typer.Argument(metavar="FOLDER", show_default=False)],
    port: Annotated[
        int,
        typer.Option(
            metavar="N", min=0, max=65535, help="Port on this machine; 0 takes any that is free."
        ),
    ] = 0,
    browser: Annotated[
        bool, typer.Option("--browser/--no-browser", help="Open the page in the browser.")
    ] = True,
) -> None:
    """Open a folder of captures in the browser: drop, check, assign, compare.

    The page is served on this machine alone, until Ctrl-C.

    Example: dotloupe open lustre_test
    """
    from dotloupe.workbench import serve

    made = not folder.exists()

    def ready(address: str) -> None:
        typer.echo(f"{folder}: open at {address} (this machine alone; Ctrl-C ends it)")
        if made:
            typer.echo("the folder was made just now; if another was meant, end this and give it")
        if browser:
            typer.launch(address)

    try:
        serve(folder, port=port, ready=ready)
    except KeyboardInterrupt:
        typer.echo("closed; photographs, settings and report are kept in the folder", err=True)
