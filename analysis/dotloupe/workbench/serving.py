"""Serves the workbench on the loopback address of this machine."""

from __future__ import annotations

import socket
from collections.abc import Callable
from pathlib import Path

from dotloupe.errors import InputError
from dotloupe.workbench.app import application
from dotloupe.workbench.bench import opened_bench
from dotloupe.workbench.folder import opened_folder
from dotloupe.workbench.guard import own_hosts

LOOPBACK = "127.0.0.1"


def serve(folder: Path, history: Path, *, port: int = 0, ready: Callable[[str], None]) -> None:
    """Serve a folder until interrupted.

    Parameters
    ----------
    folder : Path
        Made where it is missing.
    history : Path
        File of the history that prints are added to.
    port : int
        0 takes any that is free.
    ready : callable
        Called with the address once it answers.

    Raises
    ------
    InputError
        The folder cannot be used, or the port is taken.
    """
    import uvicorn

    bench = opened_bench(opened_folder(folder), history.absolute())
    with socket.socket(socket.AF_INET, socket.SOCK_STREAM) as listening:
        listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            listening.bind((LOOPBACK, port))
        except OSError as error:
            raise InputError(
                f"--port {port}: taken or not allowed ({error.strerror}); give another"
            ) from error
        own = listening.getsockname()[1]
        listening.listen()
        config = uvicorn.Config(
            application(bench, own_hosts(own)),
            log_level="critical",
            access_log=False,
            lifespan="off",
            server_header=False,
            ws="none",
            timeout_graceful_shutdown=1,
        )
        ready(f"http://{LOOPBACK}:{own}/")
        try:
            uvicorn.Server(config).run(sockets=[listening])
        finally:
            bench.examiner.close()
