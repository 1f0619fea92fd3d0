"""A press counts once: sent twice, without scripts, without a connection for a while, from a page of an earlier run."""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import contextmanager
from urllib.parse import urlencode

import pytest
from playwright.sync_api import Route

from scheduler.application.paired_phones import new_link
from scheduler.facts.fact import TaskDone
from scheduler.ledger.store import Ledger
from tests.conftest import PULLED
from tests.web.chromium import PHONE, Tab, chromium, keep_shot
from tests.web.test_page import LATER, Browser, served

LAN = "honey.local"


@pytest.fixture
def browser(ledger: Ledger) -> Iterator[Browser]:
    """The page of the example, served to paired phones too."""
    yield from served(ledger, name=f"http://{LAN}")


@contextmanager
def paired(browser: Browser) -> Iterator[Tab]:
    """A phone that is paired, over plain http under the name of the network, on the work."""
    with chromium(f"--host-resolver-rules=MAP {LAN} 127.0.0.1") as launched:
        context = launched.new_context(viewport=PHONE, is_mobile=True, has_touch=True)  # type: ignore[arg-type]
        tab, faults = context.new_page(), list[str]()
        tab.on("pageerror", lambda fault: faults.append(str(fault)))
        tab.goto(f"http://{LAN}:{browser.port}/pair/{new_link(browser.ledger, 'Ash', LATER)}")
        tab.get_by_role("button", name="Pair this phone").tap()
        tab.wait_for_url(f"http://{LAN}:{browser.port}/")
        yield tab
        keep_shot(tab)
        context.close()
        assert faults == []


def recorded(ledger: Ledger) -> list[str]:
    """The tasks that were recorded as done, each as often as it was."""
    return [str(getattr(one.fact, "task", "")) for one in ledger.facts() if one.fact.kind == "task-done"]


def test_a_mark_is_answered_before_the_plan_is_made_anew(browser: Browser) -> None:
    """The answer says so, and leads on by itself, without scripts too."""
    browser.opens()
    assert browser.presses(browser.form() | {"at": "11:00"}) == 303
    page = browser.opens(browser.headers["location"])
    assert "The plan is made anew just now" in page
    assert "done Tue 11 Aug 11:00" in page
    where = browser.headers["refresh"].removeprefix("0; url=")
    assert "done Tue 11 Aug 11:00" in browser.opens(where)
    assert browser.asks("GET", "/noted/nothing") == 404


@pytest.mark.parametrize(("ago", "minutes"), [("1200", 40), ("", 60), ("-5", 60), ("x", 60), ("9" * 40, 60)])
def test_a_press_that_was_kept_counts_for_when_it_was_pressed(browser: Browser, ago: str, minutes: int) -> None:
    """By how long the phone kept it, whatever its clock says; what is no number of seconds counts from now."""
    browser.opens()
    form = browser.form() | {"ago": ago}
    assert browser.presses(form) == 303
    [done] = [one.fact for one in browser.ledger.facts() if one.fact.kind == "task-done"]
    assert done.occurred_at == PULLED + minutes * 60


def test_tomorrow_is_the_day_after_the_press(browser: Browser) -> None:
    """A press that waited for a day says this evening."""
    browser.opens("/task/ridge-2/b/spin")
    form = browser.form(2) | {"until": "tomorrow 18:00", "ago": str(86_400)}
    assert browser.asks("POST", "/later", urlencode(form).encode(), Origin=f"http://localhost:{browser.port}") == 303
    assert "Tue 11 Aug 18:00" in browser.opens(browser.headers["location"])


def test_work_at_hives_is_recorded_of_some_of_them(browser: Browser) -> None:
    """The entrance of one is reduced, the other stays open; what is no work at hives has no such field."""
    assert 'name="hives"' not in browser.opens("/task/ridge-2/b/spin")
    assert 'name="hives"' in browser.opens("/task/ridge-2/reduce-entrances")
    form = browser.form(2) | {"hives": "north"}
    assert browser.presses(form) == 303
    [done] = [one.fact for one in browser.ledger.facts() if isinstance(one.fact, TaskDone)]
    assert (done.task, done.hives) == ("ridge-2/reduce-entrances", ("north",))
    assert not browser.done()
    assert browser.presses(form | {"key": "another", "hives": "nowhere"}) == 422


def test_a_refusal_says_what_to_tap(browser: Browser) -> None:
    """Where a command would help, the page names its own way, or that it is done where the page is served."""
    assert browser.asks("GET", "/task/ridge-2/a/nothing") == 404
    assert "afterpull agenda" not in browser.text
    browser.opens()
    form = browser.form()
    assert browser.presses(form) == 303
    assert browser.presses(form | {"key": "another"}) == 422
    assert "is done already" in browser.text
    assert "If that is not so, take it back there." in browser.text
    assert '<a href="/task/ridge-2/close-up">Open the task</a>' in browser.text
    assert browser.asks("GET", "/task/ridge-2/a/zz") == 404
    assert '<a href="/ahead">What is planned</a>' in browser.text
    assert "afterpull " not in browser.text.replace("afterpull.svg", "")


def test_rules_are_listed_by_titles_that_can_be_read(browser: Browser) -> None:
    """As the plan has them, or with a gap for an amount."""
    page = browser.opens("/rules")
    assert "<p>Freeze 16 packages of lot a</p>" in page
    assert "<p>Freeze … pieces of lot … again</p>" in page
    assert not re.search(r"<p>[^<]*\{", page)


@pytest.mark.system
def test_what_is_pressed_without_a_connection_is_sent_once_when_it_is_back(browser: Browser) -> None:
    """Over plain http, where there is no service worker: the open page keeps the press, says so, offers the sheet, and sends it."""
    with paired(browser) as tab:
        tab.context.set_offline(True)
        press = tab.get_by_role("button", name=re.compile("^Done")).first
        press.tap()
        tab.locator(".live", has_text="No connection").wait_for()
        unsent = tab.locator(".unsent")
        unsent.locator("li", has_text="Close up 29 frames").wait_for()
        assert "cannot be loaded again" in unsent.inner_text()
        assert unsent.get_by_role("button", name="Print this page").is_visible()
        press.tap()  # once the button takes it again; an impatient thumb: the same form, the same key
        assert unsent.locator("li").count() == 1
        assert recorded(browser.ledger) == []
        tab.context.set_offline(False)
        tab.locator(".said", has_text="done Tue 11 Aug").wait_for()
        unsent.wait_for(state="hidden")
        assert recorded(browser.ledger) == ["ridge-2/close-up"]


@pytest.mark.system
def test_a_press_is_taken_back_by_a_tap_and_a_beginning_is_corrected(browser: Browser) -> None:
    """Beside the answer; and on the page of a task whose hold runs."""
    with paired(browser) as tab:
        tab.get_by_role("button", name=re.compile("^Done.*Close up")).tap()
        tab.locator(".said").get_by_role("button", name=re.compile("^Take it back")).tap()
        tab.locator(".said", has_text="Taken back").wait_for()
        tab.get_by_role("heading", name="Close up").wait_for()
        for task in ("close-up", "a/cut.1"):
            browser.ledger.append([TaskDone(occurred_at=PULLED + 600, task=f"ridge-2/{task}")], LATER)
        tab.goto(f"http://{LAN}:{browser.port}/task/ridge-2/a/drain.1")
        tab.get_by_role("button", name=re.compile("^Begun")).tap()
        tab.locator(".said", has_text="begun Tue 11 Aug 11:30").wait_for()
        tab.goto(f"http://{LAN}:{browser.port}/task/ridge-2/a/drain.1")
        tab.locator("summary", has_text="Begun at another time").tap()
        tab.get_by_label("It began at").fill("11:00")
        tab.get_by_role("button", name=re.compile("^Record the beginning")).tap()
        tab.locator(".said", has_text="begun Tue 11 Aug 11:00").wait_for()


@pytest.mark.system
def test_lines_that_were_ticked_are_sent_with_their_step(browser: Browser) -> None:
    """All that were ticked, through the queue of a phone without a connection too; the others stay open."""
    with paired(browser) as tab:
        step = tab.locator(".steps > li").first
        ticks = [step.get_by_role("checkbox").nth(number) for number in range(step.get_by_role("checkbox").count())]
        assert len(ticks) > 2
        assert not any(tick.is_checked() for tick in ticks)
        lines = {tick.get_attribute("value") for tick in ticks[:2]}
        for tick in ticks[:2]:
            tick.tap()
        tab.context.set_offline(True)
        step.get_by_role("button", name=re.compile("^Done")).tap()
        tab.locator(".live", has_text="No connection").wait_for()
        tab.context.set_offline(False)
        tab.locator(".said", has_text="done Tue 11 Aug").wait_for()
        assert set(recorded(browser.ledger)) == {"ridge-2/close-up", *lines}


@pytest.mark.system
def test_answers_that_are_lost_on_the_way_do_not_make_a_second_mark(browser: Browser) -> None:
    """Twice it is recorded and the phone does not hear of it; and what it keeps is still sent after the page was loaded again."""
    with paired(browser) as tab:
        lost, at = list[int](), f"{LAN}:{browser.port}"
        [kept] = tab.context.cookies()

        def loses(route: Route) -> None:
            if len(lost) == 2:
                route.continue_()
                return
            cookie = f"{kept['name']}={kept['value']}"
            lost.append(browser.asks("POST", "/done", route.request.post_data_buffer, Host=at, Origin=f"http://{at}", Cookie=cookie))
            route.abort()

        tab.route("**/done", loses)
        tab.get_by_role("button", name=re.compile("^Done")).first.tap()
        tab.locator(".live", has_text="No connection").wait_for()
        assert recorded(browser.ledger) == ["ridge-2/close-up"]
        tab.reload()
        tab.locator(".said", has_text="done Tue 11 Aug").wait_for()
        tab.locator(".unsent").wait_for(state="hidden")
        assert lost == [303, 303]
        assert recorded(browser.ledger) == ["ridge-2/close-up"]


@pytest.mark.system
def test_what_is_refused_at_once_is_read_in_its_place_and_nothing_is_kept(browser: Browser) -> None:
    """Whoever pressed looks at it."""
    with paired(browser) as tab:
        tab.get_by_label("At").first.fill("yesteryear")
        tab.get_by_role("button", name=re.compile("^Done")).first.tap()
        tab.locator("main [role=alert]", has_text="Nothing was recorded").wait_for()
        tab.locator(".unsent").wait_for(state="hidden")
        tab.reload()
        assert not tab.locator(".unsent").is_visible()
        assert recorded(browser.ledger) == []


@pytest.mark.system
def test_what_is_refused_later_is_kept_in_sight_and_can_be_dropped(browser: Browser) -> None:
    """It was pressed without a connection, minutes before: it is not sent again and again."""
    with paired(browser) as tab:
        tab.clock.install()
        tab.get_by_label("At").first.fill("yesteryear")
        tab.context.set_offline(True)
        tab.get_by_role("button", name=re.compile("^Done")).first.tap()
        tab.locator(".live", has_text="No connection").wait_for()
        tab.clock.fast_forward("05:00")
        tab.context.set_offline(False)
        tab.clock.run_for(6000)
        unsent = tab.locator(".unsent")
        unsent.locator("li", has_text="Nothing was recorded").wait_for()
        unsent.get_by_role("button", name=re.compile("^Do not send it")).tap()
        unsent.wait_for(state="hidden")
        assert recorded(browser.ledger) == []


@pytest.mark.system
def test_a_question_that_is_answered_with_no_leaves_nothing_to_send(browser: Browser) -> None:
    """A week later nothing says that it is not sent yet; while the question stands, it does."""
    browser.ledger.append([TaskDone(occurred_at=PULLED + 1800, task="ridge-2/a/cut.1")], LATER)
    with paired(browser) as tab:
        tab.goto(f"http://{LAN}:{browser.port}/task/ridge-2/a/drain.1")
        tab.get_by_label("At").first.fill("10:45")
        tab.get_by_role("button", name=re.compile("^Begun")).tap()
        tab.get_by_role("heading", name="Was it so?").wait_for()
        tab.locator(".unsent li", has_text="It asks whether it was so").wait_for()
        tab.get_by_role("link", name="No, back to the work").tap()
        tab.wait_for_url(f"http://{LAN}:{browser.port}/")
        tab.locator("h1", has_text="Kestrel Bank").wait_for()
        tab.wait_for_timeout(500)
        assert not tab.locator(".unsent").is_visible()


@pytest.mark.system
def test_a_harvest_that_is_typed_without_a_connection_is_kept_until_it_is_logged(browser: Browser) -> None:
    """Not sent, and said so; there again when the page is opened anew; logged once, and the form is empty then."""
    with paired(browser) as tab:
        tab.get_by_role("link", name="Harvest").tap()
        tab.get_by_label("Name").fill("ridge-9")
        tab.get_by_text("In words").tap()
        tab.get_by_label("Lots").fill("extracted 9 medium 17.4%")
        tab.context.set_offline(True)
        tab.get_by_role("button", name="Log it").tap()
        tab.locator(".live", has_text="What you typed is kept on this phone").wait_for()
        tab.context.set_offline(False)
        tab.reload()
        tab.locator(".live", has_text="As you typed it before").wait_for()
        assert tab.get_by_label("Name").input_value() == "ridge-9"
        assert tab.get_by_label("Lots").input_value() == "extracted 9 medium 17.4%"
        tab.get_by_role("button", name="Log it").tap()
        tab.locator(".said", has_text="Logged ridge-9").wait_for()
        assert [getattr(one.fact, "harvest", "") for one in browser.ledger.facts() if one.fact.kind == "harvest-logged"].count("ridge-9") == 1
        tab.get_by_role("link", name="Harvest").tap()
        assert tab.get_by_label("Name").input_value() == "ridge-10"
        assert tab.get_by_label("Lots").input_value() == ""
