"""The pages: routes, and the server that shows them on this machine only."""

from __future__ import annotations

import os
import socket
import webbrowser
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from importlib.resources import as_file, files
from pathlib import Path
from threading import Thread

import uvicorn
from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from fastapi.responses import FileResponse, HTMLResponse, Response, StreamingResponse
from fastapi.staticfiles import StaticFiles
from starlette.exceptions import HTTPException

from lugbook import __version__
from lugbook.errors import Fault, InputError
from lugbook.web.guard import Guard
from lugbook.web.pages.check import check_page
from lugbook.web.pages.compare import Asked, compare_page
from lugbook.web.pages.explanation import drawing, explanation_page
from lugbook.web.pages.installation import installation_page
from lugbook.web.pages.need import need_page
from lugbook.web.pages.options import options_page
from lugbook.web.pages.what_if import what_if_page
from lugbook.web.rendering import render

__all__ = ["make_app", "serve", "serving"]

_LOOPBACK = "127.0.0.1"
_FONTS = ("Regular", "It", "Semibold", "Bold")
_SENTENCES = {
    404: "There is nothing at this address; the assessment is on the first page.",
    405: "This page can only be read; nothing is changed through it.",
}


def make_app(plan_path: Path) -> FastAPI:
    """The pages of one plan file.

    Args:
        plan_path: The plan file; read afresh for every page. [-]

    Returns:
        The application. [-]
    """
    app = FastAPI(
        title="Lugbook",
        version=__version__,
        docs_url=None,  # these two fetch scripts from other hosts
        redoc_url=None,
        redirect_slashes=False,
    )
    app.add_middleware(Guard)
    app.add_exception_handler(HTTPException, _http_error)
    app.add_exception_handler(RequestValidationError, _unreadable_question)
    app.add_exception_handler(InputError, _unusable_question)

    @app.get(
        "/",
        response_class=HTMLResponse,
        summary="The assessment of the plan",
        responses=_refusals("Setting or edition cannot be used"),
    )
    def check(setting: str = "", edition: str = "") -> HTMLResponse:
        status, page = check_page(plan_path, setting, edition)
        return HTMLResponse(page, status_code=status)

    @app.get(
        "/options",
        response_class=HTMLResponse,
        summary="Every lawful circuit on the run, priced roughly",
        responses=_refusals(
            "Edition or number cannot be used", "The plan or price file holds faults"
        ),
    )
    def options(edition: str = "", parts: str = "") -> HTMLResponse:
        status, page = options_page(plan_path, edition, parts)
        return HTMLResponse(page, status_code=status)

    @app.get(
        "/need",
        response_class=HTMLResponse,
        summary="Which setting has the cars ready",
        responses=_refusals("Edition cannot be used"),
    )
    def need(edition: str = "") -> HTMLResponse:
        status, page = need_page(plan_path, edition)
        return HTMLResponse(page, status_code=status)

    @app.get(
        "/installation",
        response_class=HTMLResponse,
        summary="Order of work, inspector's list, papers, torque sheet",
        responses=_refusals("Setting or edition cannot be used"),
    )
    def installation(setting: str = "", edition: str = "") -> HTMLResponse:
        status, page = installation_page(plan_path, setting, edition)
        return HTMLResponse(page, status_code=status)

    @app.get(
        "/what-if",
        response_class=HTMLResponse,
        summary="What would change the answer, the gravest first",
        responses=_refusals("Setting or edition cannot be used"),
    )
    def what_if(setting: str = "", edition: str = "") -> StreamingResponse:
        status, pieces = what_if_page(plan_path, setting, edition)
        return StreamingResponse(pieces, status_code=status, media_type="text/html")

    @app.get(
        "/compare",
        response_class=HTMLResponse,
        summary="Two plans, editions or settings side by side",
        responses=_refusals(
            "Setting, edition or other plan cannot be used",
            "A plan file holds faults; the page lists them",
        ),
    )
    def compare(
        setting_a: str = "",
        edition_a: str = "",
        setting_b: str = "",
        edition_b: str = "",
        plan_b: str = "",
        planned: str = "",
    ) -> HTMLResponse:
        asked = Asked(setting_a, edition_a, setting_b, edition_b, plan_b, bool(planned))
        status, page = compare_page(plan_path, asked)
        return HTMLResponse(page, status_code=status)

    @app.get(
        "/explanation/{name}",
        response_class=HTMLResponse,
        summary="How something is judged or reckoned",
        responses={404: {"description": "There is no such explanation"}},
    )
    def explain(name: str) -> Response:
        if (picture := drawing(name)) is not None:
            return Response(picture, media_type="image/svg+xml")
        page = explanation_page(name)
        if page is None:
            raise HTTPException(404)
        return HTMLResponse(page)

    app.add_api_route(
        "/static/fonts/{name}.ttf", _font, methods=["GET"], include_in_schema=False
    )
    static = StaticFiles(directory=Path(__file__).parent / "static")
    app.mount("/static", static, name="static")
    return app


def _refusals(
    unusable: str, faulty: str = "The plan file holds faults; the page lists them"
) -> dict[int | str, dict[str, str]]:
    """Return what a page's statuses mean when it does not answer."""
    return {
        400: {"description": unusable},
        403: {"description": "Host is not this machine's own name and port"},
        422: {"description": faulty},
    }


def serve(plan_path: Path, port: int, *, open_browser: bool = False) -> None:
    """Show the pages of a plan on this machine until interrupted.

    Args:
        plan_path: The plan file. [-]
        port: Port on the loopback address; 0 for any free one. [-]
        open_browser: Whether to open the person's browser at the page. [-]

    Raises:
        InputError: The port cannot be used.
    """
    with _listening(port) as listener:
        address = f"http://{_LOOPBACK}:{listener.getsockname()[1]}/"
        print(f"{plan_path.name} is shown at {address} (Ctrl+C ends it)", flush=True)
        if open_browser:
            webbrowser.open(address)  # the listener holds the request until we serve
        with suppress(KeyboardInterrupt):
            _server(plan_path).run(sockets=[listener])


@contextmanager
def serving(plan_path: Path) -> Iterator[str]:
    """Show the pages on a free port while the block runs.

    Args:
        plan_path: The plan file. [-]

    Returns:
        Address of the first page. [-]
    """
    with _listening(0) as listener:
        server = _server(plan_path)
        thread = Thread(target=server.run, kwargs={"sockets": [listener]})
        thread.start()
        try:
            yield f"http://{_LOOPBACK}:{listener.getsockname()[1]}/"
        finally:
            server.should_exit = True
            thread.join()


def _server(plan_path: Path) -> uvicorn.Server:
    return uvicorn.Server(
        uvicorn.Config(
            make_app(plan_path),
            http="h11",
            ws="none",
            log_level="warning",
            access_log=False,
            proxy_headers=False,
            server_header=False,
            limit_concurrency=64,  # a browser window holds six for a while
            h11_max_incomplete_event_size=16_384,
        )
    )


def _listening(port: int) -> socket.socket:
    listener = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    if os.name == "posix":  # elsewhere this option would let two programs share a port
        listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listener.bind((_LOOPBACK, port))
        listener.listen()
    except (OSError, OverflowError) as error:
        listener.close()
        raise InputError(
            Fault(
                "port",
                f"{port} cannot be used ({_why(error)})",
                "a free port from 1024 to 65535, or 0 for any",
            )
        ) from error
    return listener


def _why(error: OSError | OverflowError) -> str:
    words = getattr(error, "strerror", None) or str(error)
    return words[:1].lower() + words[1:]


def _font(name: str) -> FileResponse:
    if name not in _FONTS:
        raise HTTPException(404)
    font = files("font_source_sans_pro") / "files" / f"SourceSansPro-{name}.ttf"
    with as_file(font) as path:
        return FileResponse(path, media_type="font/ttf")


def _error_page(status: int, sentence: str) -> HTMLResponse:
    return HTMLResponse(render("error.html", sentence=sentence), status_code=status)


async def _http_error(_request: Request, error: Exception) -> HTMLResponse:
    status = error.status_code if isinstance(error, HTTPException) else 500
    fallback = "This request cannot be answered; the assessment is on the first page."
    return _error_page(status, _SENTENCES.get(status, fallback))


async def _unreadable_question(_request: Request, _error: Exception) -> HTMLResponse:
    return _error_page(400, "Setting and edition are asked for once each, as text.")


async def _unusable_question(_request: Request, error: Exception) -> HTMLResponse:
    return _error_page(400, str(error))
