"""The page: what to do now, what waits until when, what comes next; each task with its why; one press for done. It works without scripts."""

from __future__ import annotations

from collections.abc import Callable
from urllib.parse import quote

from markupsafe import Markup
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from scheduler.application.page_contents import Contents, Pages, Values
from scheduler.application.page_forms import Forms
from scheduler.diagnostics import Fault, Refused
from scheduler.web.answers import VISITOR, Answers
from scheduler.web.guard import HEADERS, Guard
from scheduler.web.live import Live
from scheduler.web.pairing import Pairing
from scheduler.web.posts import Posts, harvest_form


class Page:
    """The pages of one ledger, for those whom the `guard` lets in."""

    def __init__(self, pages: Pages, forms: Forms, guard: Guard) -> None:
        self.live = Live(pages.at)
        self._pages, self._forms, self._guard, self._answers = pages, forms, guard, Answers()

    def routes(self) -> list[Route]:
        """The addresses of the page, beside those of the feeds."""
        shown = {
            "/": self._work,
            "/task": self._found,
            "/task/{task:path}": self._task,
            "/ahead": self._ahead,
            "/harvest": self._harvest,
            "/days": self._days,
            "/pull/{harvest:path}": lambda request, contents: self._answers.html("pull.html", fault="", **contents.pull(request.path_params["harvest"])),
            "/lot/{lot:path}": lambda request, contents: self._html("lot.html", request, contents.lot(request.path_params["lot"])),
            "/card/{lot:path}": lambda request, contents: self._answers.html("card.html", **contents.card(request.path_params["lot"])),
            "/labels/{lot:path}": self._labels,
            "/season": lambda request, contents: self._html("season.html", request, _marked(contents.season())),
            "/hives": lambda request, contents: self._html("hives.html", request, contents.hives()),
            "/freezer/{name:path}": lambda request, contents: self._html("freezer.html", request, _marked(contents.freezer(request.path_params["name"]))),
            "/rules": lambda request, contents: self._answers.html("rules.html", **contents.rules()),
            "/rules/{card:path}": lambda request, contents: self._answers.html("rule.html", **contents.rule(request.path_params["card"])),
        }
        return [
            *Pairing(self._guard, self._answers).routes(),
            *(Route(path, self._shown(make), methods=["GET"]) for path, make in shown.items()),
            *Posts(self._pages, self._forms, self._guard, self._answers).routes(),
            Route("/live", self._live, methods=["GET"]),
            *self._answers.routes(),
        ]

    def _shown(self, make: Callable[[Request, Contents], Response]) -> Callable[[Request], Response]:
        def endpoint(request: Request) -> Response:
            try:
                if (visitor := self._guard.visitor(request)) is None:
                    return self._answers.stranger(known=self._guard.knows(request))
                VISITOR.set(visitor)
                request.state.position = self.live.at()  # before the view is read, so that nothing recorded between is missed
                return make(request, self._pages.contents(visitor.units))
            except (Refused, Fault) as fault:
                return self._answers.refused(fault, 404 if isinstance(fault, Fault) else 503)

        return endpoint

    def _html(self, name: str, request: Request, values: Values) -> Response:
        """A page that is shown anew when something is recorded."""
        return self._answers.html(name, position=request.state.position, **values)

    def _work(self, request: Request, contents: Contents) -> Response:
        receipt = request.query_params.get("said", "")
        said = self._forms.said(receipt) or ""
        values = contents.work()
        self._pages.look()
        answer = {"said": said, "written": self._forms.written(receipt) if said else ""}
        more = {"left": self._forms.not_ticked(receipt), "one_by_one": self._forms.one_by_one(receipt)}
        return self._html("now.html", request, {**values, **answer, **more})

    def _task(self, request: Request, contents: Contents) -> Response:
        values = contents.task(request.path_params["task"])
        self._pages.look()
        return self._html("task.html", request, values)

    def _found(self, request: Request, contents: Contents) -> Response:
        """Leads from a code that was scanned or typed to the page of its task."""
        if not (typed := request.query_params.get("code", "").strip()[:200]):
            raise Fault("no code was typed", "the six signs on the label")
        return RedirectResponse(f"/task/{quote(contents.task_named(typed))}", 303, HEADERS)

    def _ahead(self, request: Request, contents: Contents) -> Response:
        values = contents.ahead()
        pictures = [Markup(picture) for picture in values.pop("pictures")]
        return self._html("ahead.html", request, {**values, "pictures": pictures})

    def _harvest(self, request: Request, contents: Contents) -> Response:
        values = contents.harvest()
        return harvest_form(self._answers, values.pop("begin"), **values)

    def _days(self, request: Request, contents: Contents) -> Response:
        """How many frames a day can take: what was worked out so far; the rest is looked for behind the page."""
        like, first = (request.query_params.get(name, "").strip()[:80] for name in ("like", "from"))
        values = self._pages.days(contents.view.page or "", like, first)
        self._pages.look()
        return self._html("days.html", request, values)

    def _labels(self, request: Request, contents: Contents) -> Response:
        copies = request.query_params.get("copies", "1").strip()
        return self._answers.html("labels.html", **contents.labels(request.path_params["lot"], copies))

    async def _live(self, request: Request) -> Response:
        own = request.headers.get("sec-fetch-site", "same-origin") == "same-origin"  # another site could not read it, but take the places
        if not own:
            return self._answers.refusal("That is not for another site.", 404)
        if await self._guard.enters(request) is None:
            return self._answers.stranger(known=self._guard.knows(request))
        return self.live.stream(request)


def _marked(values: Values) -> Values:
    """The values of a page whose pictures are elements of it."""
    return {**values, "drawn": [{**one, "pictures": [Markup(picture) for picture in one["pictures"]]} for one in values["drawn"]]}
