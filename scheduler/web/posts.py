"""The forms of the page: taken from the page itself alone, and answered before the plan is made anew."""

from __future__ import annotations

from collections.abc import Awaitable, Callable
from typing import Any
from urllib.parse import parse_qs, quote

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from scheduler.application.harvest_form import FIELDS
from scheduler.application.page_contents import Pages
from scheduler.application.page_forms import Forms, Taken, Teller
from scheduler.application.page_remedies import remedy
from scheduler.application.refusals import AtField
from scheduler.application.templates import SAMPLE
from scheduler.diagnostics import Fault, Refused
from scheduler.web.answers import VISITOR, Answers, noted
from scheduler.web.guard import HEADERS, LARGEST, UNITS, Guard

MOST_FIELDS = 25  # of a form at most; that of a harvest has nineteen
STARTED = "The page was started again meanwhile: press once more."
TICKED = "also"  # the field of the lines of a checklist, each by itself
SURE = ("also", "token", "key", "task", "at", "whole", "again", "amount", "hives", "facts", "harvest", "until")  # what is asked once more
Typed = dict[str, str]
Take = Callable[[Typed], Response]


class Posts:
    """Takes forms; the plan is not shown here, only what was recorded."""

    def __init__(self, pages: Pages, forms: Forms, guard: Guard, answers: Answers) -> None:
        self._pages, self._forms, self._guard, self._answers = pages, forms, guard, answers

    def routes(self) -> list[Route]:
        """The addresses that forms are sent to, and the answer to each."""
        forms = self._forms
        marks = {
            "/done": forms.done,
            "/later": forms.later,
            "/drop": forms.drop,
            "/undo": forms.undo,
            "/seen": forms.seen,
            "/pulled": forms.pulled,
            "/reading": forms.reading,
            "/release": forms.release,
            "/hive": forms.hive,
            "/larvae": forms.larvae,
            "/as-planned": forms.as_planned,
            "/plan": forms.planned_like,
        }
        return [
            *(Route(path, self._posted(self._marks(path, record)), methods=["POST"]) for path, record in marks.items()),
            Route("/harvest", self._posted(self._logged, self._typed), methods=["POST"]),
            Route("/pull", self._posted(self._moved, self._pull_typed), methods=["POST"]),
            Route("/units", self._posted(self._chosen), methods=["POST"]),
            Route("/noted/{receipt}", self._noted, methods=["GET"]),
        ]

    def _posted(self, take: Take, again: Take | None = None) -> Callable[[Request], Awaitable[Response]]:
        """What takes the forms of the page; what is not one writes nothing. One made before the server was started again is shown `again`."""

        async def endpoint(request: Request) -> Response:
            visitor = await self._guard.enters(request)
            if visitor is None:
                return self._answers.stranger(known=self._guard.knows(request))
            VISITOR.set(visitor)
            body = b""
            async for piece in request.stream():
                body += piece
                if len(body) > LARGEST:
                    return self._answers.refusal("That form is too large.", 413)
            try:
                fields = parse_qs(body.decode("utf-8", "replace"), max_num_fields=MOST_FIELDS, keep_blank_values=True)
            except ValueError:  # before it is known whose form this is
                return self._answers.refusal("That form has too many fields.", 413)
            form = {name: ",".join(values) if name == TICKED else values[-1] for name, values in fields.items()}
            if not self._guard.trusts(request, form, visitor):
                if again is not None and self._guard.is_own(request):
                    return await run_in_threadpool(again, form)
                words = "Nothing was recorded: this form was not made by the page as it runs now. Load the page again, press again."
                return self._answers.refusal(words, 403)
            return await run_in_threadpool(take, form)

        return endpoint

    def _marks(self, path: str, record: Callable[[Typed, Teller], Taken]) -> Take:
        def take(form: Typed) -> Response:
            try:
                taken = record(form, _teller())
            except (Fault, Refused) as fault:
                return self._answers.refused(fault, 422, "Nothing was recorded. ")
            if taken.doubt:
                again = {name: value for name, value in form.items() if name in SURE} | {"at": taken.at}
                return self._answers.html("sure.html", path=path, doubt=taken.doubt, form=again)
            return noted(taken.receipt)

        return take

    def _chosen(self, form: Typed) -> Response:
        """The units of this browser from now on; nothing of it is in the ledger, where every number is in base units."""
        units = form.get("units", "")
        return self._guard.keep(RedirectResponse("/", 303, HEADERS), self._guard.units_cookie, units if units in UNITS else "")

    def _logged(self, form: Typed) -> Response:
        """A harvest; where something is wrong with it, the same form again with what to write."""
        try:
            return noted(self._forms.harvest(form).receipt)
        except (Fault, Refused) as fault:
            return self._typed(form, remedy(fault).words, 422, fault.field if isinstance(fault, AtField) else "")

    def _typed(self, form: Typed, fault: str = STARTED, status: int = 403, field: str = "") -> Response:
        """The form of a harvest as it was typed, with what is wrong, beside its field where it is of one; nothing was written."""
        try:
            offered = self._pages.contents(_teller().units).harvest()
        except (Fault, Refused) as refused:  # no form without a yard
            return self._answers.refused(refused, 503)
        return harvest_form(self._answers, {**offered.pop("begin"), **form}, fault, status, **offered, field=field)

    def _moved(self, form: Typed) -> Response:
        """A planned harvest for another moment; where that cannot be, the same form again."""
        try:
            return noted(self._forms.moved(form, _teller()).receipt)
        except AtField as fault:
            return self._pull_typed(form, remedy(fault).words, 422)
        except (Fault, Refused) as fault:
            return self._answers.refused(fault, 422, "Nothing was recorded. ")

    def _pull_typed(self, form: Typed, fault: str = STARTED, status: int = 403) -> Response:
        try:
            values = self._pages.contents(_teller().units).pull(form.get("harvest", "")[:80])
        except (Fault, Refused) as refused:
            return self._answers.refused(refused, 422)
        return self._answers.html("pull.html", status, **{**values, "pulled": form.get("pulled", "")[:40], "fault": fault})

    def _noted(self, request: Request) -> Response:
        """What was recorded, answered at once; the browser then goes on to the work, for which the plan is made anew."""
        try:
            if (visitor := self._guard.visitor(request)) is None:
                return self._answers.stranger(known=self._guard.knows(request))
            receipt = request.path_params["receipt"]
            said = self._forms.said(receipt)
        except (Refused, Fault) as fault:
            return self._answers.refused(fault, 503)
        if said is None:
            return self._answers.refusal("That is not recorded.", 404)
        VISITOR.set(visitor)
        answer = self._answers.html("noted.html", said=said, receipt=receipt)
        answer.headers["Refresh"] = f"0; url=/?said={quote(receipt, safe='')}"
        return answer


def harvest_form(answers: Answers, typed: Typed, fault: str = "", status: int = 200, **values: Any) -> Response:
    """The form of a harvest with what was typed in it, and what is wrong with that."""
    return answers.html("harvest.html", status, form={**dict.fromkeys(FIELDS, ""), **typed}, fault=fault, sample=SAMPLE, **{"field": "", **values})


def _teller() -> Teller:
    return Teller(visitor.person, visitor.units) if (visitor := VISITOR.get()) is not None else Teller()
