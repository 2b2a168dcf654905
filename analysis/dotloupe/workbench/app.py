"""The workbench's addresses: each reads a request, calls the bench, and answers."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING, Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field, ValidationError
from starlette.applications import Starlette
from starlette.concurrency import run_in_threadpool
from starlette.responses import (
    FileResponse,
    HTMLResponse,
    JSONResponse,
    PlainTextResponse,
    Response,
)
from starlette.routing import Route

from dotloupe.errors import DotloupeError
from dotloupe.workbench.comparing import By
from dotloupe.workbench.folder import RefusedError, inside, take_in, take_picture
from dotloupe.workbench.guard import Guard
from dotloupe.workbench.notes import LONGEST_SETTING, HistoryNote
from dotloupe.workbench.page import content_policy, page_text
from dotloupe.workbench.preview import LARGE_PX, SMALL_PX, preview
from dotloupe.workbench.sheets import MOST_PRINTS, write_sheets

if TYPE_CHECKING:
    from pathlib import Path

    from starlette.requests import Request

    from dotloupe.workbench.bench import Bench

MOST_SAID_BYTES = 200_000
Share = Annotated[float, Field(ge=0, le=1, allow_inf_nan=False)]


class _Asked(BaseModel):
    model_config = ConfigDict(extra="forbid")


class Assigned(_Asked):
    """Photographs and their setting."""

    keys: list[str] = Field(max_length=1000)
    setting: str


class LeftOut(_Asked):
    """Photographs that are put out of the comparison, or back."""

    keys: list[str] = Field(max_length=1000)
    out: bool


class Marked(_Asked):
    """A rectangle on a photograph, in shares of its width and height."""

    key: str
    kind: Literal["edge", "tone"]
    box: tuple[Share, Share, Share, Share]


class Removed(_Asked):
    """Place of a marked region in the list."""

    number: int


class Width(_Asked):
    """Printed width of the picture that was sent."""

    width_mm: float | None = Field(gt=0, le=5000, allow_inf_nan=False)


class Sheets(_Asked):
    """Patches to print."""

    kind: Literal["detail", "tints", "contrast"]
    ppi: int
    run: int
    prints: int = Field(ge=1, le=MOST_PRINTS)
    label: str = Field(max_length=LONGEST_SETTING)
    paper: str = Field(max_length=20)


class Tracked(_Asked):
    """Prints to add to the history; of no setting, the history is judged as it is."""

    setting: str
    made: HistoryNote
    printed_on: str


class Compared(_Asked):
    """What is set against each other."""

    by: By


def application(bench: Bench, hosts: Iterable[str]) -> Guard:
    """Application of a folder at work, behind its guard."""
    app = Starlette(
        routes=[
            Route("/", _page),
            Route("/favicon.ico", _no_icon),
            Route("/state", _state),
            Route("/preview/{size}/{key:path}", _preview),
            Route("/photographs/{name:path}", _take, methods=["PUT"]),
            Route("/photographs/{key:path}", _delete, methods=["DELETE"]),
            Route("/assign", _assign, methods=["POST"]),
            Route("/leave_out", _leave_out, methods=["POST"]),
            Route("/picture/{name}", _take_picture, methods=["PUT"]),
            Route("/picture", _show_picture),
            Route("/picture", _forget_picture, methods=["DELETE"]),
            Route("/width", _width, methods=["POST"]),
            Route("/mark", _mark, methods=["POST"]),
            Route("/unmark", _unmark, methods=["POST"]),
            Route("/compare", _compare, methods=["POST"]),
            Route("/report/{path:path}", _report),
            Route("/track", _track, methods=["POST"]),
            Route("/history/{path:path}", _history),
            Route("/sheets", _write_sheets, methods=["POST"]),
            Route("/sheets/{name}", _sheet),
        ],
        exception_handlers={DotloupeError: _told, ValidationError: _misunderstood},
    )
    app.state.bench = bench
    return Guard(app, hosts)


def _bench(request: Request) -> Bench:
    return request.app.state.bench


async def _page(request: Request) -> Response:
    bench = _bench(request)
    text = await run_in_threadpool(page_text, bench.root, bench.history)
    return HTMLResponse(text, headers={"Content-Security-Policy": content_policy()})


async def _no_icon(_: Request) -> Response:
    return Response(status_code=204)


async def _state(request: Request) -> Response:
    return JSONResponse(await run_in_threadpool(_bench(request).state))


async def _preview(request: Request) -> Response:
    size = {"small": SMALL_PX, "large": LARGE_PX}.get(request.path_params["size"])
    if size is None:
        return PlainTextResponse("there is no such size", 404)
    one = await run_in_threadpool(_bench(request).one, request.path_params["key"])
    data = await run_in_threadpool(preview, one.path, size)
    return Response(data, media_type="image/jpeg")


async def _take(request: Request) -> Response:
    bench = _bench(request)
    path = await take_in(bench.root, request.path_params["name"], request.stream())
    await run_in_threadpool(bench.took_in, path)
    return await _state(request)


async def _delete(request: Request) -> Response:
    await run_in_threadpool(_bench(request).delete, request.path_params["key"])
    return await _state(request)


async def _leave_out(request: Request) -> Response:
    asked = LeftOut.model_validate_json(await _said(request))
    await run_in_threadpool(_bench(request).leave_out, asked.keys, out=asked.out)
    return await _state(request)


async def _take_picture(request: Request) -> Response:
    bench, name = _bench(request), request.path_params["name"]
    file = await take_picture(bench.root, name, request.stream())
    await run_in_threadpool(bench.set_picture, file.name, name)
    return await _state(request)


async def _show_picture(request: Request) -> Response:
    path = _bench(request).picture_path()
    data = await run_in_threadpool(preview, path, LARGE_PX, paper_white=False)
    return Response(data, media_type="image/jpeg")


async def _forget_picture(request: Request) -> Response:
    await run_in_threadpool(_bench(request).forget_picture)
    return await _state(request)


async def _width(request: Request) -> Response:
    asked = Width.model_validate_json(await _said(request))
    await run_in_threadpool(_bench(request).set_width, asked.width_mm)
    return await _state(request)


async def _assign(request: Request) -> Response:
    asked = Assigned.model_validate_json(await _said(request))
    await run_in_threadpool(_bench(request).assign, asked.keys, asked.setting)
    return await _state(request)


async def _mark(request: Request) -> Response:
    asked = Marked.model_validate_json(await _said(request))
    await run_in_threadpool(_bench(request).mark, asked.key, asked.kind, asked.box)
    return await _state(request)


async def _unmark(request: Request) -> Response:
    asked = Removed.model_validate_json(await _said(request))
    await run_in_threadpool(_bench(request).unmark, asked.number)
    return await _state(request)


async def _compare(request: Request) -> Response:
    asked = Compared.model_validate_json(await _said(request))
    await run_in_threadpool(_bench(request).compare, asked.by)
    return await _state(request)


async def _track(request: Request) -> Response:
    asked = Tracked.model_validate_json(await _said(request))
    bench = _bench(request)
    await run_in_threadpool(bench.track, asked.setting, asked.made, asked.printed_on)
    return await _state(request)


async def _write_sheets(request: Request) -> Response:
    asked = Sheets.model_validate_json(await _said(request))
    await run_in_threadpool(write_sheets, _bench(request).sheets, **asked.model_dump())
    return await _state(request)


async def _report(request: Request) -> Response:
    return _file(_bench(request).report, request.path_params["path"])


async def _history(request: Request) -> Response:
    return _file(_bench(request).history_report, request.path_params["path"])


async def _sheet(request: Request) -> Response:
    return _file(_bench(request).sheets, request.path_params["name"])


def _file(folder: Path, name: str) -> Response:
    """One of a folder's own files, and nothing outside it."""
    file = folder / (name or "index.html")
    if not (inside(folder, file) and file.is_file()):
        return PlainTextResponse("there is no such page in the report", 404)
    return FileResponse(file)


async def _said(request: Request) -> bytes:
    """Return what was sent with a request, if it is no more than a page says."""
    said = b""
    async for piece in request.stream():
        said += piece
        if len(said) > MOST_SAID_BYTES:
            raise RefusedError("more was sent than this page says", 413)
    return said


def _told(_: Request, error: Exception) -> Response:
    status = error.status if isinstance(error, RefusedError) else 400
    return JSONResponse({"error": str(error)}, status)


def _misunderstood(_: Request, error: Exception) -> Response:
    faults = error.errors(include_url=False) if isinstance(error, ValidationError) else []
    why = "; ".join(f"{'.'.join(map(str, f['loc']))}: {f['msg']}" for f in faults)
    return JSONResponse({"error": why or "not understood"}, 400)
