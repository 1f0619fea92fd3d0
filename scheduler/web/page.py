"""The page: what to do now, what waits until when, what comes next; each task with its why; one press for done. It works without scripts."""

from __future__ import annotations

import threading
from collections.abc import Awaitable, Callable
from importlib.resources import files
from secrets import token_urlsafe
from typing import Any
from urllib.parse import parse_qs

from jinja2 import Environment, PackageLoader, StrictUndefined
from starlette.requests import Request
from starlette.responses import HTMLResponse, RedirectResponse, Response
from starlette.routing import Route

from scheduler.application import tell_tasks
from scheduler.application.ledger_view import LedgerView, keep_in_force, view_at
from scheduler.application.lookup import moment_of, named
from scheduler.diagnostics import Fault, Refused
from scheduler.ledger.store import Ledger
from scheduler.outputs.text.now import now_shown, task_shown
from scheduler.outputs.text.why import why_text
from scheduler.web.guard import HEADERS, LARGEST, Guard

WHY_WIDTH = 64  # columns of what `why` says, in a page
MOST_KEYS = 1_000  # forms that are remembered, so that one sent twice counts once
Endpoint = Callable[[Request], Awaitable[Response] | Response]


class Page:
    """The pages of one ledger, for this machine."""

    def __init__(self, ledger: Ledger, now: Callable[[], int]) -> None:
        self.ledger, self.now, self.guard = ledger, now, Guard()
        self.templates = Environment(loader=PackageLoader("scheduler.web"), autoescape=True, undefined=StrictUndefined, auto_reload=False)
        self.style = files("scheduler.web").joinpath("templates", "page.css").read_text(encoding="utf-8")
        self._used: dict[str, str] = {}
        self._lock = threading.Lock()  # one form at a time: what is told is told of the plan that is shown

    def routes(self) -> list[Route]:
        """The addresses of the page, beside those of the feeds."""
        return [
            Route("/", self._shown(self._now), methods=["GET"]),
            Route("/task/{task:path}", self._shown(self._task), methods=["GET"]),
            Route("/done", self._posted, methods=["POST"]),
            Route("/page.css", self._css, methods=["GET"]),
        ]

    def _shown(self, make: Callable[[Request, LedgerView], Response]) -> Endpoint:
        def endpoint(request: Request) -> Response:
            if not self.guard.admits(request):
                return self._refusal("This page is for the machine that serves it, under its name localhost.", 404)
            try:
                view = view_at(self.ledger, self.now())
                return make(request, view)
            except (Refused, Fault) as fault:
                return self._refusal(str(fault), 404 if isinstance(fault, Fault) else 503)

        return endpoint

    def _now(self, request: Request, view: LedgerView) -> Response:
        keep_in_force(self.ledger, view)
        return self._html("now.html", shown=now_shown(view.plan, view.now), said=self._used.get(request.query_params.get("said", ""), ""))

    def _task(self, request: Request, view: LedgerView) -> Response:
        task = named(view.plan, request.path_params["task"], view.rules)
        return self._html("task.html", task=task_shown(view.plan, task, view.now), why=why_text(view.plan_with_cures, task.id, width=WHY_WIDTH))

    def _css(self, request: Request) -> Response:
        return Response(self.style, media_type="text/css", headers={**HEADERS, "Cache-Control": "max-age=60"})

    async def _posted(self, request: Request) -> Response:
        """A form of the page; what is not one writes nothing."""
        from starlette.concurrency import run_in_threadpool

        if not self.guard.admits(request):
            return self._refusal("This page is for the machine that serves it, under its name localhost.", 404)
        body = b""
        async for piece in request.stream():
            body += piece
            if len(body) > LARGEST:
                return self._refusal("That form is too large.", 413)
        form = {name: values[-1] for name, values in parse_qs(body.decode("utf-8", "replace"), max_num_fields=20, keep_blank_values=True).items()}
        if not self.guard.trusts(request, form):
            return self._refusal("Nothing was recorded: this form was not made by the page as it runs now. Go back, load the page again, press again.", 403)
        return await run_in_threadpool(self._done, form)

    def _done(self, form: dict[str, str]) -> Response:
        key, task = form.get("key", "")[:64], form.get("task", "")[:200]
        with self._lock:
            if key in self._used:  # sent twice: once is enough
                return RedirectResponse(f"/?said={key}", 303, HEADERS)
            try:
                now = self.now()
                view = view_at(self.ledger, now)
                moment = moment_of(form.get("at", "").strip() or None, now, view.zone)
                said, refused = tell_tasks.done(view, [task], moment, whole=form.get("whole") == "1", sure=form.get("sure") == "1")
                if doubts := [fault for fault in refused if isinstance(fault, tell_tasks.Doubt)]:
                    return self._html("sure.html", doubt=doubts[0].message, form=form, key=key)
                if refused:
                    raise refused[0]
                self.ledger.append([one.fact for one in said], now)
            except (Fault, Refused) as fault:
                return self._refusal(f"Nothing was recorded. {fault}", 422)
            self._used[key] = "\n".join(one.words for one in said)
            while len(self._used) > MOST_KEYS:
                del self._used[next(iter(self._used))]
        return RedirectResponse(f"/?said={key}", 303, HEADERS)

    def _html(self, name: str, status: int = 200, **values: Any) -> Response:
        page = self.templates.get_template(name).render(token=self.guard.token, new_key=lambda: token_urlsafe(12), **values)
        return HTMLResponse(page, status, HEADERS)

    def _refusal(self, words: str, status: int) -> Response:
        return self._html("refused.html", status, words=words)
