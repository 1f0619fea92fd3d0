"""What another person records appears on an open page without a reload; streams are few, short, and hold nothing up."""

from __future__ import annotations

import http.client
import re
import threading
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path

import pytest

from scheduler.application.page_contents import Contents, Pages
from scheduler.application.tell import log, set_yard
from scheduler.diagnostics import Fault
from scheduler.facts.fact import TaskDone
from scheduler.ledger.store import Ledger
from scheduler.web import live
from scheduler.web.guard import POLICY
from tests.application.test_page_contents import MEADOW
from tests.conftest import EXAMPLES, PULLED
from tests.web.chromium import SHOWN, Tab, chromium, phone, too_wide
from tests.web.test_page import LATER, Browser, served


@pytest.fixture
def browser(ledger: Ledger) -> Iterator[Browser]:
    """The page of the example, an hour after the pull."""
    yield from served(ledger)


@contextmanager
def stream(browser: Browser, host: str = "localhost", program: str = "a browser", **more: str) -> Iterator[http.client.HTTPResponse]:
    """An open stream, or what is answered instead."""
    connection = http.client.HTTPConnection("127.0.0.1", browser.port, timeout=30)
    connection.request("GET", "/live", headers={"Host": f"{host}:{browser.port}", "Accept-Encoding": "gzip", "User-Agent": program, **more})
    try:
        answer = connection.getresponse()
        yield answer
    finally:
        answer.close()
        connection.close()


def event(answer: http.client.HTTPResponse) -> str:
    """The next word of a stream."""
    while line := answer.readline().decode():
        if line.startswith("data: "):
            return line.removeprefix("data: ").strip()
    return ""


def closes_up(ledger: Ledger) -> None:
    """Somebody else records the first task of the evening."""
    ledger.append([TaskDone(occurred_at=PULLED + 60, task="ridge-2/close-up")], LATER)


def test_a_stream_says_where_the_ledger_stands_and_again_when_a_fact_is_added(browser: Browser) -> None:
    """The same word as the page carries; not compressed, which would hold it back, and with nothing of what was recorded."""
    page = browser.opens()
    with stream(browser) as answer:
        assert answer.getheader("content-type", "").startswith("text/event-stream")
        assert answer.getheader("content-encoding") is None
        first = event(answer)
        assert f'data-position="{first}"' in page
        closes_up(browser.ledger)
        second = event(answer)
        assert second != first
        assert "close-up" not in second
    assert f'data-position="{second}"' in browser.opens()


def test_after_a_new_start_the_word_is_another_one(ledger: Ledger) -> None:
    """So that an open page fetches forms that the server takes, though nothing was recorded."""
    position = Pages(ledger, lambda: LATER).at
    once = live.Live(position)
    assert once.at() == once.at() != live.Live(position).at()


def test_a_page_on_which_somebody_types_a_harvest_asks_for_no_stream(browser: Browser) -> None:
    """Nor does a sheet for the printer."""
    assert re.findall(r"<script[^>]*>", browser.opens("/harvest")) == ['<script src="/draft.js" defer>']
    for path in ("/card/ridge-2/a", "/labels/ridge-2/a", "/rules"):
        assert "<script" not in browser.opens(path)
    for path in ("/", "/ahead", "/season", "/lot/ridge-2/a", "/task/ridge-2/a/freeze.1"):
        assert '<script src="/page.js" defer></script>' in browser.opens(path)


def test_the_policy_lets_scripts_run_from_files_of_the_server_alone(browser: Browser) -> None:
    """Nothing inline, no other origin, no evaluation."""
    browser.opens("/page.js")
    assert browser.headers["content-type"].startswith("text/javascript")
    assert browser.headers["content-security-policy"] == POLICY
    assert "script-src 'self';" in POLICY
    assert not any(word in POLICY for word in ("unsafe", "nonce", "http", "*", "data:"))


def test_a_foreign_name_for_this_machine_gets_no_stream(browser: Browser) -> None:
    """A name that leads here by DNS rebinding."""
    with stream(browser, "rebound.example") as answer:
        assert answer.status == 404


def test_a_page_of_another_site_takes_no_place(browser: Browser) -> None:
    """It could read nothing, and it holds nothing open."""
    with stream(browser, **{"Sec-Fetch-Site": "cross-site"}) as answer:
        assert answer.status == 404
    with stream(browser, **{"Sec-Fetch-Site": "same-origin"}) as answer:
        assert event(answer)


def test_a_ledger_that_cannot_be_read_for_a_while_ends_no_stream(browser: Browser, monkeypatch: pytest.MonkeyPatch) -> None:
    """What was recorded meanwhile is told when it can be read again."""
    asked = threading.Event()

    def away() -> int:
        asked.set()
        raise Fault("the ledger cannot be reached", "start its server")

    with stream(browser) as answer:
        first = event(answer)
        with monkeypatch.context() as cut:
            cut.setattr(browser.ledger, "position", away)
            assert asked.wait(30)
        closes_up(browser.ledger)
        assert event(answer) not in ("", first)


def test_there_are_only_so_many_streams(browser: Browser, monkeypatch: pytest.MonkeyPatch) -> None:
    """One too many is sent away without a fault, and the page is there for everybody."""
    monkeypatch.setattr(live, "MOST_STREAMS", 3)
    with ExitStack() as held:
        assert all(event(held.enter_context(stream(browser))) for _ in range(3))
        assert held.enter_context(stream(browser)).status == 204
        assert "Close up" in browser.opens()


def test_one_browser_has_only_so_many_and_another_has_its_own(browser: Browser) -> None:
    """Whatever one does, there is a stream for the next."""
    with ExitStack() as held:
        assert all(event(held.enter_context(stream(browser))) for _ in range(live.MOST_EACH))
        assert held.enter_context(stream(browser)).status == 204
        assert event(held.enter_context(stream(browser, program="another browser")))


def test_a_stream_ends_by_itself_before_its_connection_is_cut(browser: Browser, monkeypatch: pytest.MonkeyPatch) -> None:
    """With its last piece sent, so that the browser asks again and complains of nothing."""
    monkeypatch.setattr(live, "LASTS", 0.5)
    with stream(browser) as answer:
        assert answer.read().decode().endswith("\n\n")
    assert browser.live.open.total() == 0


def test_the_server_stops_at_once_and_silently_with_a_stream_open(ledger: Ledger, capfd: pytest.CaptureFixture[str]) -> None:
    """The stream is brought to its end; nothing has to be cancelled."""
    with ExitStack() as held:
        with contextmanager(served)(ledger) as browser:
            answer = held.enter_context(stream(browser))
            assert event(answer)
        assert event(answer) == ""
    assert capfd.readouterr() == ("", "")


def marked(tab: Tab) -> None:
    """Leave a mark that a reload would take away."""
    tab.evaluate("() => { window.kept = true }")


@pytest.mark.system
def test_what_one_person_presses_another_sees_without_a_reload(browser: Browser) -> None:
    """Two browsers; in the second the work at hand moves on, the focus stays where it was, and its next press is taken."""
    with chromium() as launched, phone(launched, browser.port) as one, phone(launched, browser.port) as other:
        for tab in (one, other):
            tab.goto("/")
        marked(other)
        other.get_by_role("link", name="Record of ridge-2/b").focus()
        assert other.get_by_role("heading", name="Close up").count() == 1
        one.get_by_role("button", name=re.compile("Close up")).tap()
        one.get_by_text("done Tue 11 Aug").wait_for()
        other.get_by_text("Shown anew").wait_for()
        assert other.get_by_role("heading", name="Close up").count() == 0
        assert other.evaluate("() => window.kept && document.activeElement.textContent") == "Record of ridge-2/b"
        before = len(browser.ledger.facts())
        other.locator("main button").first.tap()
        other.locator(".said").wait_for()
        assert len(browser.ledger.facts()) > before


@pytest.mark.system
def test_what_is_being_typed_is_not_taken_away(browser: Browser) -> None:
    """The page says that there is news, and shows it once the field is empty again."""
    with chromium() as launched, phone(launched, browser.port) as tab:
        tab.goto("/")
        marked(tab)
        tab.get_by_label("At").first.fill("11:0")
        closes_up(browser.ledger)
        tab.get_by_text("recorded elsewhere. It is shown once").wait_for()
        assert tab.get_by_label("At").first.input_value() == "11:0"
        tab.get_by_label("At").first.fill("")
        tab.get_by_label("At").first.blur()
        tab.get_by_text("Shown anew").wait_for()
        assert tab.get_by_role("heading", name="Close up").count() == 0
        assert tab.evaluate("() => window.kept")


@pytest.mark.system
def test_a_hidden_page_holds_no_connection_and_catches_up_when_it_is_shown(browser: Browser) -> None:
    """Six tabs with a stream each would leave the seventh without a connection."""

    def streams(tab: Tab, number: int) -> bool:
        return any(browser.live.open.total() == number or tab.wait_for_timeout(100) for _ in range(100))

    with chromium() as launched, phone(launched, browser.port) as tab:
        tab.goto("/")
        assert streams(tab, 1)
        tab.evaluate(SHOWN, "hidden")
        assert streams(tab, 0)
        closes_up(browser.ledger)
        tab.evaluate(SHOWN, "visible")
        tab.get_by_text("Shown anew").wait_for()
        assert tab.get_by_role("heading", name="Close up").count() == 0


@pytest.mark.system
def test_eight_tabs_at_once_are_all_served(browser: Browser) -> None:
    """All of them in sight, which no keeper has: a browser has six connections to a host, and streams take four at most."""
    with chromium() as launched:
        context = launched.new_context(base_url=f"http://localhost:{browser.port}")
        tabs = [context.new_page() for _ in range(8)]
        for tab in tabs:
            tab.goto("/")
        assert 0 < browser.live.open.total() <= live.MOST_EACH
        closes_up(browser.ledger)
        tabs[0].get_by_text("Shown anew").wait_for()


@pytest.mark.system
def test_a_page_that_got_no_stream_looks_by_itself(browser: Browser, monkeypatch: pytest.MonkeyPatch) -> None:
    """After a minute, which the clock of this tab runs through at once; and it says nothing where there is nothing new."""
    monkeypatch.setattr(live, "MOST_STREAMS", 0)
    with chromium() as launched, phone(launched, browser.port) as tab:
        tab.clock.install()
        tab.goto("/")
        tab.wait_for_timeout(500)
        tab.clock.run_for(61_000)
        tab.wait_for_timeout(500)
        assert tab.inner_text(".live") == ""
        closes_up(browser.ledger)
        tab.clock.run_for(61_000)
        tab.get_by_text("Shown anew").wait_for()


@pytest.mark.system
def test_what_would_help_appears_beside_its_warning_without_a_reload(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The page is there before the cure is; a press is kept apart from it, and somebody who types is not disturbed."""
    goes_on = threading.Event()
    sought = Contents.find_cures

    def after_a_while(self: Contents, wanted: Callable[[], bool]) -> bool:
        return goes_on.wait(60) and sought(self, wanted)

    monkeypatch.setattr(Contents, "find_cures", after_a_while)
    with Ledger.open(tmp_path / "ledger.sqlite") as ledger:
        set_yard(ledger, (EXAMPLES / "yard.yaml").read_bytes(), "yard.yaml", MEADOW)
        log(ledger, [((EXAMPLES / "meadow-1.yaml").read_bytes(), "meadow-1.yaml")], MEADOW)
        for browser in served(ledger, now=lambda: MEADOW):
            with chromium() as launched, phone(launched, browser.port) as tab:
                tab.goto("/")
                marked(tab)
                assert tab.get_by_text("What would help is being looked for").count() == 1
                goes_on.set()
                tab.get_by_text("Shown anew: what would help was found.").wait_for()
                assert tab.get_by_text(re.compile("What would cure it: .* kept whole")).count() == 1
                assert tab.evaluate("() => window.kept")
                assert too_wide(tab) == []
            assert "What would cure it" in browser.opens()
