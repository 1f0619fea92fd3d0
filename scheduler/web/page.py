"""The page: what to do now, what waits until when, what comes next; each task with its why; one press for done. It works without scripts."""

from __future__ import annotations

import threading
from collections import Counter
from collections.abc import Awaitable, Callable
from contextvars import ContextVar
from datetime import date, datetime
from importlib.resources import files
from secrets import token_urlsafe
from typing import Any
from urllib.parse import parse_qs, quote

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import HTMLResponse, RedirectResponse, Response
from starlette.routing import Route

from scheduler.application import tell_tasks
from scheduler.application.behind_picture import behind
from scheduler.application.ledger_view import LedgerView, keep_in_force, view_at, whole_view
from scheduler.application.lookup import moment_of, named
from scheduler.application.lot_record import record_of, waits_of
from scheduler.application.paired_phones import LASTS
from scheduler.application.tell import asked, log, mark_seen
from scheduler.application.templates import SAMPLE, harvest_text
from scheduler.diagnostics import Fault, Refused
from scheduler.facts.season import MARKS_AND_EDGES
from scheduler.ledger.store import Ledger
from scheduler.local_time import in_years
from scheduler.outputs.labels import LotCard, lot_card
from scheduler.outputs.pictures.season import BROAD, COLOURS, NARROW, season_picture
from scheduler.outputs.text.lot_sheet import LotSheet
from scheduler.outputs.text.now import Shown, days_shown, now_shown, on_page, task_shown
from scheduler.outputs.text.odds_text import doubtful_tasks, likely_words
from scheduler.outputs.text.rules_text import card_lines, changed_lines, set_line, without_amounts
from scheduler.outputs.text.season_text import season_text
from scheduler.outputs.text.why import why_text
from scheduler.outputs.wording.sentence import title_of
from scheduler.planning.odds import Odds
from scheduler.planning.task_ids import codes
from scheduler.web.guard import HEADERS, LARGEST, Guard, Visitor
from scheduler.web.live import Live
from scheduler.web.pairing import Pairing

WHY_WIDTH = 40  # columns of what is printed in a page: as many as a narrow phone shows
FUTURES = 100  # that are sampled for a page; assumed
MOST_FIELDS = 20  # of a form at most; ours have nine
MOST_COPIES = 60  # of each label; assumed
Endpoint = Callable[[Request], Awaitable[Response] | Response]
Told = tuple[list[tell_tasks.Confirmation], list[Fault]]  # what is to be written down, and of what nothing is


_visitor: ContextVar[Visitor | None] = ContextVar("_visitor", default=None)  # for whom a page is made: its forms carry their token
SCRIPTS = ("page.js", "marks.js", "draft.js")
HARVEST = ("name", "pulled", "hives", "apiary", "lots")  # what the form of a harvest asks for


class Page:
    """The pages of one ledger, for this machine and, where there is a `guard` that knows them, for phones that were paired."""

    def __init__(self, ledger: Ledger, now: Callable[[], int], guard: Guard | None = None) -> None:
        self.ledger, self.now, self.guard = ledger, now, guard or Guard(ledger, now)
        self.templates = Environment(loader=PackageLoader("scheduler.web"), autoescape=True, undefined=StrictUndefined, auto_reload=False)
        self.style = files("scheduler.web").joinpath("templates", "page.css").read_text(encoding="utf-8")
        self.scripts = {f"/{name}": files("scheduler.web").joinpath("templates", name).read_text(encoding="utf-8") for name in SCRIPTS}
        self.live = Live(ledger)
        self.icon = files("scheduler.outputs.notify").joinpath("icons", "afterpull.svg").read_bytes()
        self._likely: tuple[tuple[tuple[str, int, int], ...], tuple[Odds, ...]] = (), ()
        self._viewed: tuple[tuple[int, int], LedgerView] | None = None
        self._work: tuple[LedgerView, Shown] | None = None
        self._lock = threading.Lock()  # one form at a time: what is told is told of the plan that is shown

    def routes(self) -> list[Route]:
        """The addresses of the page, beside those of the feeds."""
        return [
            *Pairing(self.ledger, self.now, self.guard, self._html).routes(),
            Route("/", self._shown(self._now), methods=["GET"]),
            Route("/task", self._shown(self._found), methods=["GET"]),
            Route("/task/{task:path}", self._shown(self._task), methods=["GET"]),
            Route("/ahead", self._shown(self._ahead), methods=["GET"]),
            Route("/harvest", self._shown(self._harvest), methods=["GET"]),
            Route("/lot/{lot:path}", self._shown(self._lot), methods=["GET"]),
            Route("/card/{lot:path}", self._shown(self._card), methods=["GET"]),
            Route("/labels/{lot:path}", self._shown(self._labels), methods=["GET"]),
            Route("/season", self._shown(self._season), methods=["GET"]),
            Route("/rules", self._shown(self._rules), methods=["GET"]),
            Route("/rules/{card:path}", self._shown(self._rule), methods=["GET"]),
            Route("/done", self._posted(self._done), methods=["POST"]),
            Route("/later", self._posted(self._later), methods=["POST"]),
            Route("/drop", self._posted(self._drop), methods=["POST"]),
            Route("/seen", self._posted(self._seen), methods=["POST"]),
            Route("/harvest", self._posted(self._logged, self._typed), methods=["POST"]),
            Route("/live", self._live, methods=["GET"]),
            *(Route(path, self._js, methods=["GET"]) for path in self.scripts),
            Route("/noted/{key}", self._noted, methods=["GET"]),
            Route("/page.css", self._css, methods=["GET"]),
            Route("/icon.svg", self._icon, methods=["GET"]),
        ]

    def _shown(self, make: Callable[[Request, LedgerView], Response]) -> Endpoint:
        def endpoint(request: Request) -> Response:
            try:
                if (visitor := self.guard.visitor(request)) is None:
                    return self._stranger(request)
                _visitor.set(visitor)
                request.state.position = self.live.at()  # before the view is read, so that nothing recorded between is missed
                return make(request, self._view())
            except (Refused, Fault) as fault:
                return self._refusal(_told(fault), 404 if isinstance(fault, Fault) else 503)

        return endpoint

    def _view(self) -> LedgerView:
        """The ledger as it is now, planned once a minute while nothing is recorded: a page shows no seconds."""
        now = self.now()
        at = self.ledger.position(), now // 60
        if self._viewed is None or self._viewed[0] != at:
            self._viewed = at, view_at(self.ledger, now)
        return self._viewed[1]

    def _now(self, request: Request, view: LedgerView) -> Response:
        if self._work is None or self._work[0] is not view:
            keep_in_force(self.ledger, view)
            self._work = view, now_shown(view.plan, view.now)
        lots = [f"{one.harvest}/{lot.id}" for one in view.harvests for lot in one.lots]
        said = self.ledger.phones.said(request.query_params.get("said", "")[:64]) or ""
        return self._html("now.html", shown=self._work[1], lots=lots, said=said, position=request.state.position)

    def _task(self, request: Request, view: LedgerView) -> Response:
        task = named(view.plan, request.path_params["task"], view.rules)
        why, likely = why_text(view.plan_with_cures, task.id, width=WHY_WIDTH), likely_words(view.plan, self._odds(view), task.id)
        code = codes(one.id for one in view.plan.tasks)[task.id]
        shown = task_shown(view.plan, task, view.now)
        hives = tell_tasks.is_by_hive(view, task.id)
        return self._html("task.html", task=shown, hives=hives, why=why, likely=likely, code=code, position=request.state.position)

    def _found(self, request: Request, view: LedgerView) -> Response:
        """Leads from a code that was scanned or typed to the page of its task."""
        if not (typed := request.query_params.get("code", "").strip()[:200]):
            raise Fault("no code was typed", "the six signs on the label")
        return RedirectResponse(f"/task/{quote(named(view.plan, typed, view.rules).id)}", 303, HEADERS)

    def _ahead(self, request: Request, view: LedgerView) -> Response:
        drawn = behind(view.yard, view.season, view.plan.as_of)
        pictures = [Markup(season_picture(view.plan, drawn, width, name)) for name, width in (("narrow", NARROW), ("broad", BROAD))]
        likely = doubtful_tasks(view.plan, self._odds(view))
        return self._html("ahead.html", yard=view.plan.yard, days=days_shown(view.plan), pictures=pictures, likely=likely, position=request.state.position)

    def _odds(self, view: LedgerView) -> tuple[Odds, ...]:
        """How likely the plan is kept, worked out once for each plan that is shown."""
        plan = tuple((task.id, task.start, task.finish) for task in view.plan.tasks)
        if plan != self._likely[0]:
            self._likely = plan, view.odds(FUTURES)
        return self._likely[1]

    def _season(self, request: Request, view: LedgerView) -> Response:
        today = datetime.fromtimestamp(view.now, view.zone).date()
        seen = {name: view.seen_at(name) for name in view.yard.apiaries or (None,)}
        text = "\n".join(season_text(one.season, today, one.evidence, WHY_WIDTH, name) for name, one in seen.items())
        apiaries = list(view.yard.apiaries)
        return self._html("season.html", text=text, marks=MARKS_AND_EDGES, today=today.isoformat(), apiaries=apiaries, position=request.state.position)

    def _rules(self, request: Request, view: LedgerView) -> Response:
        """What applies at this yard, its own changes included; how many tasks of the plan each card has given."""
        planned = Counter(task.rule for task in view.plan.tasks)
        titles = {task.rule: title_of(task) for task in reversed(view.plan.tasks)}  # as the plan has it; else without its amounts
        sets = [
            (set_line(one), [(key := f"{one.name}/{name}", titles.get(key) or without_amounts(card.title)) for name, card in one.cards.items()])
            for one in view.rules.sets.values()
        ]
        return self._html("rules.html", yard=view.yard.yard, sets=sets, planned=planned, changed=changed_lines(view.rules))

    def _rule(self, request: Request, view: LedgerView) -> Response:
        card = view.rules.card(request.path_params["card"])
        tasks = [(task.id, title_of(task)) for task in view.plan.tasks if task.rule == card.key]
        return self._html("rule.html", card=card.key, text="\n".join(card_lines(view.rules, card)), tasks=tasks)

    def _lot(self, request: Request, view: LedgerView) -> Response:
        """The record is made of everything that ever became of the lot."""
        view = whole_view(self.ledger, view.now)
        sheet = LotSheet(view.yard.yard, view.zone, view.yard.units, WHY_WIDTH)
        lot = request.path_params["lot"]
        return self._html("lot.html", lot=lot, sheet=sheet.text(record_of(view, lot), view.now, waits_of(view)), position=request.state.position)

    def _card(self, request: Request, view: LedgerView) -> Response:
        return self._html("card.html", yard=view.yard.yard, card=self._printed(request))

    def _labels(self, request: Request, view: LedgerView) -> Response:
        """Each label as often as is asked for: one for each package or jar."""
        asked_for = request.query_params.get("copies", "1").strip()
        if not (asked_for.isascii() and asked_for.isdigit() and 1 <= int(asked_for[:4]) <= MOST_COPIES):
            raise Fault(f'"{asked_for[:20]}" is not a number of copies', f"1 to {MOST_COPIES}")
        return self._html("labels.html", us=view.yard.units == "us", copies=int(asked_for), most=MOST_COPIES, card=self._printed(request))

    def _printed(self, request: Request) -> LotCard:
        view = whole_view(self.ledger, self.now())
        return lot_card(view.plan, record_of(view, request.path_params["lot"]), view.now)

    def _harvest(self, request: Request, view: LedgerView) -> Response:
        shown = f"{datetime.fromtimestamp(view.now, view.zone):%Y-%m-%d %H:%M}"
        form = {**dict.fromkeys(HARVEST, ""), "pulled": shown}
        return self._html("harvest.html", form=form, fault="", sample=SAMPLE, apiaries=list(view.yard.apiaries))

    def _noted(self, request: Request) -> Response:
        """What was recorded, answered at once; the browser then goes on to the work, for which the plan is made anew."""
        try:
            if (visitor := self.guard.visitor(request)) is None:
                return self._stranger(request)
            key = request.path_params["key"]
            said = self.ledger.phones.said(key)
        except (Refused, Fault) as fault:
            return self._refusal(_told(fault), 503)
        if said is None:
            return self._refusal("That is not recorded.", 404)
        _visitor.set(visitor)
        answer = self._html("noted.html", said=said, key=key)
        answer.headers["Refresh"] = f"0; url=/?said={quote(key, safe='')}"
        return answer

    def _css(self, request: Request) -> Response:
        return Response(self.style + COLOURS, media_type="text/css", headers={**HEADERS, "Cache-Control": "max-age=60"})

    def _js(self, request: Request) -> Response:
        return Response(self.scripts[request.url.path], media_type="text/javascript", headers={**HEADERS, "Cache-Control": "max-age=60"})

    async def _live(self, request: Request) -> Response:
        own = request.headers.get("sec-fetch-site", "same-origin") == "same-origin"  # another site could not read it, but take the places
        if not own:
            return self._refusal("That is not for another site.", 404)
        if await self._enters(request) is None:
            return self._stranger(request)
        return self.live.stream(request)

    async def _enters(self, request: Request) -> Visitor | None:
        """Who asks; nobody, while the ledger cannot be read."""
        try:
            return await run_in_threadpool(self.guard.visitor, request)
        except (Fault, Refused):
            return None

    def _stranger(self, request: Request) -> Response:
        if self.guard.knows(request):
            return self._refusal("This phone is not paired. On the machine that serves this page: afterpull serve --lan --pair NAME. Then open its link.", 401)
        return self._refusal("This page is for the machine that serves it, under its name localhost, and for phones paired with it.", 404)

    def _icon(self, request: Request) -> Response:
        return Response(self.icon, media_type="image/svg+xml", headers={**HEADERS, "Cache-Control": "max-age=86400"})

    def _posted(self, take: Callable[[dict[str, str]], Response], again: Callable[[dict[str, str]], Response] | None = None) -> Endpoint:
        """What takes the forms of the page; what is not one writes nothing. One made before the server was started again is shown `again`."""

        async def endpoint(request: Request) -> Response:
            if (visitor := await self._enters(request)) is None:
                return self._stranger(request)
            _visitor.set(visitor)
            body = b""
            async for piece in request.stream():
                body += piece
                if len(body) > LARGEST:
                    return self._refusal("That form is too large.", 413)
            try:
                fields = parse_qs(body.decode("utf-8", "replace"), max_num_fields=MOST_FIELDS, keep_blank_values=True)
            except ValueError:  # before it is known whose form this is
                return self._refusal("That form has too many fields.", 413)
            form = {name: values[-1] for name, values in fields.items()}
            if not self.guard.trusts(request, form, visitor):
                if again is not None and self.guard.is_own(request):
                    return await run_in_threadpool(again, form)
                return self._refusal("Nothing was recorded: this form was not made by the page as it runs now. Load the page again, press again.", 403)
            return await run_in_threadpool(take, form)

        return endpoint

    def _logged(self, form: dict[str, str]) -> Response:
        """A harvest as it was typed; where something is wrong with it, the same form again with what to write."""
        key, name = form.get("key", "").strip()[:64], form.get("name", "").strip()
        with self._lock:
            try:
                if self.ledger.phones.said(_needed(form, "key", "the form as the page gave it")[:64]) is not None:
                    return RedirectResponse(f"/noted/{quote(key, safe='')}", 303, HEADERS)
                now = self.now()
                view = view_at(self.ledger, now)
                lots = [line.strip() for line in form.get("lots", "").splitlines() if line.strip()]
                hives = [hive.strip() for hive in form.get("hives", "").split(",") if hive.strip()]
                pulled = moment_of(form.get("pulled", "").strip() or None, now, view.zone, ahead=True)
                if any(one.harvest == name for one in view.harvests):
                    raise Fault(f'a harvest "{name}" is logged already', "another name")
                text = harvest_text(name, pulled, view.zone, hives, lots, form.get("apiary", "")[:80] or None)
                names = log(self.ledger, [(text.encode(), f"{name}.yaml")], now)
                self.ledger.append_once(key, (), now, "\n".join([f"Logged {name}.", *asked(self.ledger, names, now)]))
            except (Fault, Refused) as fault:
                return self._typed(form, _told(fault), 422)
        return RedirectResponse(f"/noted/{quote(key, safe='')}", 303, HEADERS)

    def _typed(self, form: dict[str, str], fault: str = "The page was started again meanwhile: press once more.", status: int = 403) -> Response:
        """The form of a harvest as it was typed, with what is wrong; nothing was written."""
        return self._html("harvest.html", status, form={**dict.fromkeys(HARVEST, ""), **form}, fault=fault, sample=SAMPLE, apiaries=self._apiaries())

    def _apiaries(self) -> list[str]:
        """The apiaries of the yard; none where no yard was set."""
        try:
            return list(view_at(self.ledger, self.now(), search=False).yard.apiaries)
        except (Fault, Refused):
            return []

    def _done(self, form: dict[str, str]) -> Response:
        def told(view: LedgerView, now: int) -> Told:
            moment = moment_of(form.get("at", "").strip() or None, now - _ago(form), view.zone)
            part, worked = tell_tasks.part_of(form.get("amount", "").strip() or None)
            whole, sure = form.get("whole") == "1", form.get("sure") == "1"
            visitor = _visitor.get()
            by = visitor.person if visitor is not None and visitor.person in view.yard.people else None
            if hives := [hive.strip() for hive in form.get("hives", "").split(",") if hive.strip()]:
                return tell_tasks.done_of_hives(view, _task_of(form), hives, moment, by), []
            return tell_tasks.done(view, [_task_of(form)], moment, whole=whole, amount=part, worked=worked, by=by, sure=sure)

        return self._recorded(form, told)

    def _later(self, form: dict[str, str]) -> Response:
        def told(view: LedgerView, now: int) -> Told:
            return tell_tasks.put_off(view, [_task_of(form)], moment_of(_needed(form, "until", "tomorrow 18:00"), now - _ago(form), view.zone, ahead=True))

        return self._recorded(form, told)

    def _drop(self, form: dict[str, str]) -> Response:
        return self._recorded(form, lambda view, now: tell_tasks.skip(view, [_task_of(form)], _needed(form, "because", "no wax this year"), now))

    def _seen(self, form: dict[str, str]) -> Response:
        def told(view: LedgerView, now: int) -> Told:
            on = _needed(form, "on", "2026-10-09")
            try:
                day = date.fromisoformat(on)
            except ValueError:
                raise Fault(f'"{on[:40]}" is not a date', "2026-10-09") from None
            return [mark_seen(view, form.get("mark", "")[:80], in_years(day, day), now, form.get("apiary", "")[:80] or None)], []

        return self._recorded(form, told)

    def _recorded(self, form: dict[str, str], told: Callable[[LedgerView, int], Told]) -> Response:
        """Write down what a form says, once however often it is sent; what is in doubt is asked first, and what cannot be is refused with the remedy."""
        key = form.get("key", "").strip()[:64]
        with self._lock:
            try:
                if self.ledger.phones.said(_needed(form, "key", "the form as the page gave it")[:64]) is not None:
                    return RedirectResponse(f"/noted/{quote(key, safe='')}", 303, HEADERS)
                now = self.now()
                view = view_at(self.ledger, now, search=False)
                said, refused = told(view, now)
                if doubts := [fault for fault in refused if isinstance(fault, tell_tasks.Doubt)]:
                    at = form.get("at", "").strip() or f"{datetime.fromtimestamp(now - _ago(form), view.zone):%Y-%m-%d %H:%M}"
                    return self._html("sure.html", doubt=doubts[0].message, form=form | ({"at": at} if _ago(form) else {}), key=key)
                if refused:
                    raise refused[0]
                self.ledger.append_once(key, [one.fact for one in said], now, "\n".join(one.words for one in said))
            except (Fault, Refused) as fault:
                return self._refusal(f"Nothing was recorded. {_told(fault)}", 422)
        return RedirectResponse(f"/noted/{quote(key, safe='')}", 303, HEADERS)

    def _html(self, name: str, status: int = 200, *, position: str = "", **values: Any) -> Response:
        """A page; one that says at which `position` of the ledger it was made is shown anew when something is recorded."""
        token = visitor.token if (visitor := _visitor.get()) is not None else ""  # a stranger gets none
        page = self.templates.get_template(name).render(token=token, new_key=lambda: token_urlsafe(12), position=position, **values)
        return HTMLResponse(page, status, HEADERS)

    def _refusal(self, words: str, status: int) -> Response:
        return self._html("refused.html", status, words=words)


def _task_of(form: dict[str, str]) -> str:
    return form.get("task", "")[:200]


def _ago(form: dict[str, str]) -> int:
    """How long a phone without a connection kept a press before it could send it [s]; as long as it can be paired at most."""
    typed = form.get("ago", "")
    return min(int(typed), LASTS) if typed.isascii() and typed.isdigit() and len(typed) < 12 else 0


def _needed(form: dict[str, str], name: str, sample: str) -> str:
    """What was typed in a field that may not be empty. Raises `Fault` with a sample where it is."""
    if not (typed := form.get(name, "").strip()[:500]):
        raise Fault(f'"{name}" is empty', sample)
    return typed


def _told(fault: Fault | Refused) -> str:
    """What is wrong, and what to write or to tap instead."""
    return f"{fault.message}. {on_page(fault.write)}" if isinstance(fault, Fault) and fault.write else str(fault)
