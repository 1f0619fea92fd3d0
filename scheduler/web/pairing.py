"""The page that pairs a phone: looking at the link shows a button, and the button spends the link."""

from __future__ import annotations

from collections import deque
from collections.abc import Callable
from time import monotonic

from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from scheduler.diagnostics import Fault, Refused
from scheduler.web.answers import Answers
from scheduler.web.guard import HEADERS, Guard

TRIES, WITHIN = 10, 60.0  # looks from one address at links that hold no more, in so many seconds; assumed: a secret has 128 bits anyway
MOST = 1_000  # of them that are remembered
OVER = "This link holds no more: it pairs one phone, within ten minutes. On the machine that serves this page: afterpull serve --lan --pair NAME"


class Pairing:
    """Pairs phones, which the guard lets in from then on."""

    def __init__(self, guard: Guard, answers: Answers) -> None:
        self._guard, self._answers = guard, answers
        self._failed: deque[tuple[str, float]] = deque(maxlen=MOST)

    def routes(self) -> list[Route]:
        """The address that a link leads to."""
        return [Route("/pair/{link}", self._look, methods=["GET"]), Route("/pair/{link}", self._press, methods=["POST"])]

    def _look(self, request: Request) -> Response:
        return _silent(self._taken(request, lambda link: self._button(self._guard.phones.linked(link))))

    def _press(self, request: Request) -> Response:
        if not self._guard.is_own(request):
            return _silent(self._answers.refusal("Not paired: that press did not come from this page.", 403))
        return _silent(self._taken(request, self._paired))

    def _taken(self, request: Request, answer: Callable[[str], Response | None]) -> Response:
        if not self._guard.knows(request):
            return self._answers.refusal("This page is not here under that name.", 404)
        whence = request.client.host if request.client is not None else ""
        if sum(address == whence and monotonic() - at < WITHIN for address, at in self._failed) >= TRIES:
            return self._answers.refusal("Too many links that hold no more. Wait a minute, then open the link again.", 429)
        try:
            found = answer(request.path_params["link"])
        except (Fault, Refused):
            return self._answers.refusal("The ledger cannot be read or written just now. Wait a minute, then press again.", 503)
        if found is None:
            self._failed.append((whence, monotonic()))
            return self._answers.refusal(OVER, 404)
        return found

    def _button(self, person: str | None) -> Response | None:
        return self._answers.html("pair.html", person=person, plain=not self._guard.secure) if person is not None else None

    def _paired(self, link: str) -> Response | None:
        """The phone keeps its secret in a cookie, and leaves the link behind."""
        paired = self._guard.phones.pair(link)
        if paired is None:
            return None
        return self._guard.keep(RedirectResponse("/", 303, HEADERS), self._guard.cookie, paired.secret)


def _silent(answer: Response) -> Response:
    """What the page loads and sends, and where it leads, learns the host alone: a link that holds may stand in the address."""
    answer.headers["Referrer-Policy"] = "strict-origin"  # with no-referrer the form would come without an Origin
    return answer
