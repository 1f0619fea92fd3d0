"""How the page answers: templates that escape what is put into them, for one visitor at a time; what is refused, in words."""

from __future__ import annotations

from contextvars import ContextVar
from importlib.resources import files
from secrets import token_urlsafe
from typing import Any
from urllib.parse import quote

from jinja2 import Environment, PackageLoader, StrictUndefined
from starlette.requests import Request
from starlette.responses import HTMLResponse, RedirectResponse, Response
from starlette.routing import Route

from scheduler.application.page_contents import PICTURE_COLOURS
from scheduler.application.page_forms import receipt
from scheduler.application.page_remedies import Remedy, remedy
from scheduler.diagnostics import Fault, Refused
from scheduler.web.guard import HEADERS, Visitor

SCRIPTS = ("page.js", "marks.js", "draft.js")
VISITOR: ContextVar[Visitor | None] = ContextVar("VISITOR", default=None)  # for whom a page is made: its forms carry their token


class Answers:
    """Makes the answers of the page, and gives its style, scripts and icon."""

    def __init__(self) -> None:
        self._templates = Environment(loader=PackageLoader("scheduler.web"), autoescape=True, undefined=StrictUndefined, auto_reload=False)
        icon = files("scheduler.outputs.notify").joinpath("icons", "afterpull.svg").read_bytes()
        self._files = {
            "/page.css": (_template("page.css") + PICTURE_COLOURS.encode(), "text/css", 60),
            **{f"/{name}": (_template(name), "text/javascript", 60) for name in SCRIPTS},
            "/icon.svg": (icon, "image/svg+xml", 86_400),
        }

    def routes(self) -> list[Route]:
        """The addresses of what is the same for everybody."""
        return [Route(path, self._file, methods=["GET"]) for path in self._files]

    def html(self, name: str, status: int = 200, *, position: str = "", **values: Any) -> Response:
        """A page; one that says at which `position` of the ledger it was made is shown anew when something is recorded."""
        visitor = VISITOR.get() or Visitor("")  # a stranger gets no token
        forms = {"token": visitor.token, "units": visitor.units, "new_key": lambda: token_urlsafe(12), "receipt_of": receipt}
        given = {**forms, "position": position, "status": status}
        page = self._templates.get_template(name).render(**given, **values)
        return HTMLResponse(page, status, HEADERS)

    def refusal(self, words: str, status: int) -> Response:
        """A page that says what was not done, and why."""
        return self.html("refused.html", status, remedy=Remedy(words))

    def refused(self, fault: Fault | Refused, status: int, before: str = "") -> Response:
        """The same of a fault, with the page to open instead."""
        found = remedy(fault)
        return self.html("refused.html", status, remedy=found._replace(words=f"{before}{found.words}"))

    def stranger(self, *, known: bool) -> Response:
        """For whoever is not let in: a phone that is not paired, or somebody who calls this machine by another name."""
        if known:
            return self.refusal("This phone is not paired. On the machine that serves this page: afterpull serve --lan --pair NAME. Then open its link.", 401)
        return self.refusal("This page is for the machine that serves it, under its name localhost, and for phones paired with it.", 404)

    def _file(self, request: Request) -> Response:
        content, kind, seconds = self._files[request.url.path]
        return Response(content, media_type=kind, headers={**HEADERS, "Cache-Control": f"max-age={seconds}"})


def noted(receipt: str) -> Response:
    """Leads on to what was said when a form was recorded."""
    return RedirectResponse(f"/noted/{quote(receipt, safe='')}", 303, HEADERS)


def _template(name: str) -> bytes:
    return files("scheduler.web").joinpath("templates", name).read_bytes()
