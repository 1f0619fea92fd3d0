"""The page over HTTP on loopback: what to do now, a press that is recorded once, and strangers that get nothing."""

from __future__ import annotations

import http.client
import re
import threading
import time
from collections.abc import Callable, Iterator
from datetime import date, timedelta
from html.parser import HTMLParser
from pathlib import Path
from urllib.parse import urlencode

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from scheduler.application.ledger_view import view_at
from scheduler.application.page_contents import Pages
from scheduler.application.page_forms import Forms
from scheduler.application.paired_phones import PairedPhones
from scheduler.application.publish import Feeds
from scheduler.facts.fact import HarvestLogged, HiveDisease, Observed, SeriesRecorded, YardSet
from scheduler.ledger.store import Ledger
from scheduler.web.feeds import application
from scheduler.web.guard import Guard
from scheduler.web.live import Live
from scheduler.web.page import Page
from scheduler.web.server import listening, server_of
from tests.conftest import EXAMPLES, PULLED
from tests.keeper import Keeper

LATER = PULLED + 3600


def measured(ledger: Ledger) -> None:
    """Two kilograms a day on the hive scale from 10 May for forty days, and ten hours of a freezer's log."""
    days = [date(2026, 4, 1) + timedelta(number) for number in range(120)]
    scale = "\n".join(["date,mass kg", *(f"{day},{30 + 2 * max(0, min(40, (day - date(2026, 5, 10)).days)):.1f}" for day in days)]) + "\n"
    log = "\n".join(["time,temperature C", *(f"2026-08-11 {hour:02}:00,-{19 + hour % 2}" for hour in range(10))]) + "\n"
    told = (("scale", "ridge", scale), ("freezer", "freezer", log))
    ledger.append([SeriesRecorded(occurred_at=PULLED, what=what, of=of, path=f"{what}.csv", text=text) for what, of, text in told], PULLED)


class Browser:
    """A client that keeps the last page; it follows no redirect by itself."""

    def __init__(self, port: int, ledger: Ledger, live: Live) -> None:
        self.port, self.ledger, self.live, self.text, self.headers = port, ledger, live, "", {}

    def asks(self, method: str, path: str, body: bytes | None = None, **headers: str) -> int:
        """Send a request; gives the status."""
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=60)
        connection.request(method, path, body, {"Host": f"localhost:{self.port}", **{name.replace("_", "-"): value for name, value in headers.items()}})
        answer = connection.getresponse()
        self.headers, self.text = {name.lower(): value for name, value in answer.getheaders()}, answer.read().decode()
        connection.close()
        return answer.status

    def opens(self, path: str = "/") -> str:
        """A page that is there."""
        assert self.asks("GET", path) == 200
        return self.text

    def form(self, number: int = 0) -> dict[str, str]:
        """The hidden fields of a form of the page."""
        part = re.findall(r"<form.*?</form>", self.text, re.DOTALL)[number]
        return dict(re.findall(r'type="hidden" name="(\w+)" value="([^"]*)"', part))

    def presses(self, form: dict[str, str], **headers: str) -> int:
        """Send a form as a browser does from the page itself."""
        return self.asks("POST", "/done", urlencode(form).encode(), **({"Origin": f"http://localhost:{self.port}"} | headers))

    def done(self) -> set[str]:
        """What is recorded as done."""
        return set(view_at(self.ledger, LATER).happened.done)


@pytest.fixture
def browser(ledger: Ledger) -> Iterator[Browser]:
    """The page of the example, an hour after the pull."""
    yield from served(ledger)


def served(ledger: Ledger, name: str | None = None, *, proxied: bool = False, now: Callable[[], int] = lambda: LATER) -> Iterator[Browser]:
    """The page of a ledger, while it is served; also under a further name, for phones that are paired."""
    with listening(False, 0) as listener:
        at = f"{name}:{listener.getsockname()[1]}" if name is not None and not proxied else name
        guard = Guard(PairedPhones(ledger, now), [at] if at is not None else [], paired_only=proxied)
        pages = Pages(ledger, now)
        page = Page(pages, Forms(pages), guard)
        server = server_of(application(Feeds(ledger, now), "", page.routes()))
        thread = threading.Thread(target=server.run, kwargs={"sockets": [listener]})
        thread.start()
        while not server.started:
            time.sleep(0.01)
        try:
            yield Browser(int(listener.getsockname()[1]), ledger, page.live)
        finally:
            server.should_exit = True
            thread.join()
            pages.close()


class Names(HTMLParser):
    """Every attribute that could run something, and inputs without a name for a screen reader."""

    def __init__(self) -> None:
        super().__init__()
        self.found: list[str] = []
        self.labels = 0

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Note what a strict policy would refuse."""
        given = dict(attrs)
        self.found += [f"{tag} {name}" for name in given if name.startswith("on") or name == "style"] + (
            ["script"] if tag == "script" and not given.get("src") else []
        )
        self.labels += (tag == "label") - (tag == "select" or (tag == "input" and given.get("type") != "hidden"))


def test_the_work_at_hand_is_shown_with_its_cautions_and_what_comes(browser: Browser) -> None:
    """Close up, an hour after the pull; nothing inline, each field with its label, each target a link or a button."""
    page = browser.opens()
    assert "Close up 29 frames" in page
    assert "Mark the boxes of lot a" in page
    assert "Caution: Stings" in page
    assert "<h2>Then</h2>" in page
    names = Names()
    names.feed(page)
    assert (names.found, names.labels) == ([], 0)
    assert browser.headers["content-security-policy"].startswith("default-src 'none'")


def test_a_press_is_recorded_and_sent_twice_is_recorded_once(browser: Browser) -> None:
    """At the time that was typed; the answer says what was noted."""
    browser.opens()
    form = browser.form() | {"at": "11:00"}
    before = len(browser.ledger.facts())
    assert browser.presses(form) == 303
    where = browser.headers["location"]
    assert browser.presses(form) == 303
    assert len(browser.ledger.facts()) == before + 1
    assert browser.done() == {"ridge-2/close-up"}
    assert "done Tue 11 Aug 11:00" in browser.opens(where)


def test_a_task_says_why_and_can_be_done_there(browser: Browser) -> None:
    """Rule, numbers and sources, as `why` says them."""
    page = browser.opens("/task/ridge-2/a/freeze.1")
    assert "Time to freeze through" in page
    assert browser.form()["task"] == "ridge-2/a/freeze.1"


@pytest.mark.parametrize(
    ("headers", "status"),
    [
        ({"Origin": "http://evil.example"}, 403),
        ({"Origin": "null"}, 403),
        ({"Sec_Fetch_Site": "cross-site"}, 403),
        ({"Host": "evil.example"}, 404),
    ],
)
def test_a_form_of_another_site_writes_nothing(browser: Browser, headers: dict[str, str], status: int) -> None:
    """Whatever it knows of the page."""
    browser.opens()
    before = len(browser.ledger.facts())
    assert browser.presses(browser.form(), **headers) == status
    assert len(browser.ledger.facts()) == before


def test_without_origin_or_with_a_guessed_token_nothing_is_written(browser: Browser) -> None:
    """A program that sends no Origin is not the page."""
    browser.opens()
    form, before = browser.form(), len(browser.ledger.facts())
    assert browser.asks("POST", "/done", urlencode(form).encode()) == 403
    assert browser.presses(form | {"token": "x" * 32}) == 403
    assert browser.asks("POST", "/done", b"x" * 20_000, Origin=f"http://localhost:{browser.port}") == 413
    assert len(browser.ledger.facts()) == before


def test_the_page_has_an_icon_of_its_own(browser: Browser) -> None:
    """So that a browser asks for none that is not there."""
    assert 'rel="icon" href="/icon.svg"' in browser.opens()
    assert browser.opens("/icon.svg").startswith("<")
    assert browser.headers["content-type"] == "image/svg+xml"


def test_a_form_of_too_many_fields_is_refused_in_words(browser: Browser) -> None:
    """Whoever sent it: it is counted before its token can be read."""
    assert browser.presses({f"field{number}": "" for number in range(26)}) == 413
    assert "too many fields" in browser.text
    assert not browser.done()


def test_a_foreign_name_for_this_machine_shows_nothing(browser: Browser) -> None:
    """A name that leads here by DNS rebinding."""
    for path in ("/", "/task/ridge-2/close-up", "/ahead", "/season", "/harvest", "/lot/ridge-2/a"):
        assert browser.asks("GET", path, Host="rebound.example") == 404
        assert "Close up" not in browser.text


def test_what_a_person_wrote_is_shown_as_text(ledger: Ledger) -> None:
    """A yard and a hive named by a script."""
    yard = (EXAMPLES / "yard.yaml").read_text(encoding="utf-8").replace("Kestrel Bank", "<script>alert(1)</script>")
    harvest = (EXAMPLES / "ridge-2.yaml").read_text(encoding="utf-8").replace("[north, ridge]", "['<img src=x>', ridge]")
    ledger.append(
        [YardSet(occurred_at=PULLED, text=yard, path="y.yaml"), HarvestLogged(occurred_at=PULLED, harvest="ridge-2", text=harvest, path="h.yaml")], PULLED
    )
    ledger.append([HiveDisease(occurred_at=PULLED + 60, hive="<img src=x>", suspected=True)], PULLED + 60)
    for browser in served(ledger):
        shown = browser.opens()
    assert "<script>" not in shown
    assert "<img" not in shown
    assert "&lt;script&gt;" in shown


def test_the_weeks_ahead_stand_under_their_days(browser: Browser) -> None:
    """Each row leads to its task."""
    page = browser.opens("/ahead")
    assert "<h2>Tue 11 Aug</h2>" in page
    assert page.index("<h2>Tue 11 Aug</h2>") < page.index("<h2>Thu 13 Aug</h2>")
    assert 'href="/task/ridge-2/a/freeze.1"' in page or 'href="/task/ridge-2/b/bottle"' in page


def test_how_likely_a_limit_is_kept_stands_at_its_task_and_over_the_weeks(browser: Browser) -> None:
    """The freezing hangs on an evening; what has no limit says nothing of it."""
    words = r"(19 of 20|9 of 10|3 in 4|half)\. Usually over "
    assert re.search(f"In time: {words}", browser.opens("/task/ridge-2/a/freeze.1"))
    assert "How likely" not in browser.opens("/task/ridge-2/b/bottle")
    assert re.search(f"Freeze 16 packages of lot a</a>: {words}", browser.opens("/ahead"))
    assert not re.search(r"\d %", browser.text.partition("How likely")[2].partition("</section>")[0])


def test_the_weeks_ahead_are_a_picture_too_for_a_phone_and_for_paper(browser: Browser) -> None:
    """Two renders with ids of their own, no style of their own, which the policy would drop; their colours stand in the one stylesheet."""
    page = browser.opens("/ahead")
    assert page.count('role="img"') == 2
    assert len(set(re.findall(r' id="([^"]+)"', page))) == len(re.findall(r' id="[^"]+"', page))
    assert "style=" not in page
    assert "<style" not in page
    assert "freeze to Sat 15 Aug" in page or re.search(r"freeze to \w{3} \d\d:\d\d", page)
    assert ".season .hold" in browser.opens("/page.css")


def test_work_is_put_off_or_dropped_or_recorded_in_part_on_its_own_page(browser: Browser) -> None:
    """Each in a form of its own with a sample; what is empty or cannot be is refused in words, and nothing is written."""
    browser.opens("/task/ridge-2/b/spin")
    part, later, drop = (browser.form(number) for number in (1, 2, 3))
    origin = {"Origin": f"http://localhost:{browser.port}"}

    def sends(where: str, form: dict[str, str]) -> int:
        return browser.asks("POST", where, urlencode(form).encode(), **origin)

    assert sends("/later", {**later, "until": ""}) == 422
    assert "Write: tomorrow 18:00" in browser.text
    assert sends("/later", {**later, "until": "tomorrow 18:00"}) == 303
    assert view_at(browser.ledger, LATER).happened.put_off.keys() == {"ridge-2/b/spin"}
    assert sends("/done", {**part, "amount": "6"}) == 303
    assert sends("/done", {**part, "amount": "6"}) == 303
    assert view_at(browser.ledger, LATER).happened.partly == {"ridge-2/b/spin": 6.0}
    assert sends("/drop", {**drop, "because": "the extractor broke"}) == 303
    assert view_at(browser.ledger, LATER).happened.skipped.keys() == {"ridge-2/b/spin"}


def test_a_mark_of_the_season_is_recorded_on_the_page_of_the_season(browser: Browser) -> None:
    """With its day; a day still to come, one that is no date and a mark nobody knows write nothing."""
    assert "first frost" in browser.opens("/season")
    form, origin = browser.form(), {"Origin": f"http://localhost:{browser.port}"}
    for mark, on, said in (
        ("first frost", "2027-01-01", "is still to come"),
        ("first frost", "soon", "is not a date"),
        ("frist frost", "2026-08-01", "is not a mark"),
        ("first frost", "", "is empty"),
    ):
        assert browser.asks("POST", "/seen", urlencode({**form, "mark": mark, "on": on}).encode(), **origin) == 422
        assert said in browser.text
    assert browser.asks("POST", "/seen", urlencode({**form, "mark": "main flow ends", "on": "2026-08-01"}).encode(), **origin) == 303
    assert [one.fact.mark for one in view_at(browser.ledger, LATER).facts if isinstance(one.fact, Observed)] == ["main flow ends"]


def test_the_record_of_a_lot_is_a_page(browser: Browser) -> None:
    """As the command prints it; an unknown lot says which there are."""
    assert "Hives:" in browser.opens("/lot/ridge-2/a")
    assert browser.asks("GET", "/lot/ridge-2/zz") == 404
    assert "ridge-2/a" in browser.text


def test_a_harvest_is_logged_in_one_form_and_nothing_typed_is_lost(browser: Browser) -> None:
    """A slip in a lot brings the form back with what was typed, and what to write; then it is logged, once."""
    browser.opens("/harvest")
    form = browser.form() | {"name": "ridge-9", "pulled": "2026-08-11 11:00", "hives": "north, south", "lots": "cut comb 4 shalow"}
    body = urlencode(form).encode()
    assert browser.asks("POST", "/harvest", body, Origin=f"http://localhost:{browser.port}") == 422
    assert "is not a lot" in browser.text
    assert "cut comb 4 shalow</textarea>" in browser.text
    assert 'value="ridge-9"' in browser.text
    again = browser.form() | {name: form[name] for name in ("name", "pulled", "hives")} | {"lots": "cut comb 4 shallow 17.4%\nextracted 9 medium"}
    for _ in range(2):
        assert browser.asks("POST", "/harvest", urlencode(again).encode(), Origin=f"http://localhost:{browser.port}") == 303
    view = view_at(browser.ledger, LATER)
    [harvest] = [one for one in view.harvests if one.harvest == "ridge-9"]
    assert [(lot.id, lot.frames) for lot in harvest.lots] == [("a", 4), ("b", 9)]
    assert "Logged ridge-9" in browser.opens(browser.headers["location"])
    assert browser.asks("POST", "/harvest", urlencode(again | {"key": "another"}).encode(), Origin=f"http://localhost:{browser.port}") == 422
    assert "is logged already" in browser.text


def test_an_unknown_task_and_a_wrong_time_are_told_in_words(browser: Browser) -> None:
    """With what to write instead."""
    assert browser.asks("GET", "/task/ridge-2/a/nothing") == 404
    assert "no task is named" in browser.text
    browser.opens()
    assert browser.presses(browser.form() | {"at": "half past"}) == 422
    assert "is not a time" in browser.text
    assert browser.done() == set()


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.text(max_size=60), st.text(max_size=30), st.sampled_from(["0", "1", "x"]))
def test_any_form_is_recorded_or_refused_and_never_a_fault(browser: Browser, task: str, at: str, whole: str) -> None:
    """Whatever is typed or sent."""
    browser.opens()
    form = browser.form() | {"task": task, "at": at, "whole": whole, "key": task[:5]}
    assert browser.presses({name: value.encode("utf-8", "replace").decode() for name, value in form.items()}) in (200, 303, 422)


def test_where_there_are_several_apiaries_a_harvest_and_a_mark_say_which(tmp_path: Path) -> None:
    """Hives without names leave it unclear: the form comes back with a word to choose, and then it is logged there. A frost is seen over the fell alone."""
    keeper = Keeper(tmp_path / "ledger.sqlite", "brindle_fold", "Europe/Vienna", "2026-08-11T10:00")
    with Ledger.open(keeper.ledger) as ledger:
        for browser in served(ledger):
            assert "Over Fell" in browser.opens("/harvest")
            origin = {"Origin": f"http://localhost:{browser.port}"}
            form = browser.form() | {"name": "fell-9", "pulled": "2026-08-11 09:30", "hives": "", "lots": "extracted 14 medium"}
            assert browser.asks("POST", "/harvest", urlencode(form).encode(), **origin) == 422
            assert "in which apiary" in browser.text
            again = form | browser.form() | {"name": "fell-9", "pulled": "2026-08-11 09:30", "apiary": "Over Fell"}
            assert browser.asks("POST", "/harvest", urlencode(again).encode(), **origin) == 303
            assert [one.at for one in view_at(ledger, LATER).harvests] == ["Over Fell"]
            assert "The season at Over Fell" in browser.opens("/season")
            seen = browser.form() | {"mark": "main flow ends", "on": "2026-08-09", "apiary": "Over Fell"}
            assert browser.asks("POST", "/seen", urlencode(seen).encode(), **origin) == 303
            found = {name: view_at(ledger, LATER).seen_at(name).observed for name in ("Garden", "Over Fell")}
            assert found == {"Garden": {}, "Over Fell": {"main flow ends": [date(2026, 8, 9)]}}


def test_what_instruments_recorded_is_shown_as_pictures_with_tables(browser: Browser) -> None:
    """A hive scale on the page of the season, a freezer's log on a page of its own that is named there; the freezer that is none leads back."""
    assert "<table>" not in browser.opens("/season")
    measured(browser.ledger)
    page = browser.opens("/season")
    assert (page.count("<table>"), page.count("Hive scale ridge</h2>")) == (1, 1)
    assert re.search(r"<td>\d+\.0</td><td>main flow begins</td></tr>", page)
    assert 'href="/freezer/freezer"' in page
    assert "The season as seen" in page
    freezer = browser.opens("/freezer/freezer")
    assert '<th scope="row">2026-08-11</th><td>-20.0</td><td>-19.0</td>' in freezer
    assert "afterpull " not in re.sub("<[^>]*>", "", freezer)
    assert browser.asks("GET", "/freezer/none") == 404
    assert 'href="/season"' in browser.text


@pytest.mark.parametrize(
    ("field", "typed", "said"),
    [
        ("name", "ridge-2", "is logged already"),
        ("name", "a b", "Not logged"),
        ("pulled", "yesterday evening", "Not logged"),
        ("hives", "n" * 600, "Not logged"),
        ("lots", "a lot of comb", "is not a lot"),
    ],
)
def test_what_is_wrong_with_a_harvest_stands_beside_its_field(browser: Browser, field: str, typed: str, said: str) -> None:
    """The next thing after the field, which names it to a screen reader and is where the cursor stands; the rest is as it was typed."""
    browser.opens("/harvest")
    right = {"name": "ridge-7", "pulled": "", "hives": "north", "lots": "cut comb 5 shallow 17.4%"}
    body = urlencode({**browser.form(), **right, field: typed}).encode()
    assert browser.asks("POST", "/harvest", body, Origin=f"http://localhost:{browser.port}") == 422
    [(marked, after)] = re.findall(r'name="(\w+)"[^>]*aria-invalid="true" aria-describedby="fault" autofocus>.*?</label>\n(.*?)\n', browser.text)
    assert marked == field
    assert after.startswith('<p class="stop" role="alert" id="fault">Not logged. ')
    assert said in after
    assert ".yaml" not in after
    assert browser.text.count('role="alert"') == 1


@pytest.mark.parametrize(
    ("field", "typed", "said"),
    [
        ("kind1", "", "was not chosen"),
        ("frames2", "", "how many frames"),
        ("frames1", "many", "not a number"),
        ("moisture1", "wet", "not a moisture"),
        ("kind2", "jam", "was not chosen"),
    ],
)
def test_what_is_wrong_with_a_lot_that_was_chosen_stands_there(browser: Browser, field: str, typed: str, said: str) -> None:
    """And all that was chosen stands in the form again."""
    browser.opens("/harvest")
    right = {"name": "ridge-7", "kind1": "cut comb", "frames1": "5", "frame1": "shallow", "moisture1": "17,4", "kind2": "extracted", "frames2": "14"}
    origin = {"Origin": f"http://localhost:{browser.port}"}
    body = urlencode({**browser.form(), **right, "frame2": "medium", field: typed}).encode()
    assert browser.asks("POST", "/harvest", body, **origin) == 422
    [marked] = re.findall(r'name="(\w+)"[^>]*aria-invalid="true"', browser.text)
    assert marked == field
    assert said in browser.text.partition("Not logged.")[2].partition("</p>")[0]
    assert f'name="frames2" value="{typed if field == "frames2" else 14}"' in browser.text
    again = {**browser.form(), **right, "frame2": "medium"}
    assert browser.asks("POST", "/harvest", urlencode(again).encode(), **origin) == 303
    [harvest] = [one for one in view_at(browser.ledger, LATER).harvests if one.harvest == "ridge-7"]
    assert [(lot.kind, lot.frames, lot.frame, lot.moisture) for lot in harvest.lots] == [("cut comb", 5, "shallow", 0.174), ("extracted", 14, "medium", None)]


def test_what_is_seen_at_hives_and_all_as_planned_are_forms_of_the_page(browser: Browser) -> None:
    """Foulbrood sent twice is recorded once; the day up to which all went as planned is asked with its list, and recorded by the answer."""
    origin = {"Origin": f"http://localhost:{browser.port}"}
    browser.opens("/hives")
    form = browser.form(1) | {"what": "foulbrood suspected", "hive": "north", "on": "2026-08-11"}
    for _ in range(2):
        assert browser.asks("POST", "/hive", urlencode(form).encode(), **origin) == 303
    assert sum(isinstance(one.fact, HiveDisease) for one in browser.ledger.facts()) == 1
    assert "north: hive disease" in browser.opens("/hives")
    assert "Take it back" in browser.opens("/")
    [number] = [
        at for at, part in enumerate(re.findall(r"<form.*?</form>", browser.text, re.DOTALL)) if 'action="/as-planned"' in part and 'type="date"' in part
    ]
    plain = browser.form(number) | {"until": "2026-08-11"}
    before = len(browser.ledger.facts())
    assert browser.asks("POST", "/as-planned", urlencode(plain).encode(), **origin) == 200
    assert "Was it so?" in browser.text
    assert len(browser.ledger.facts()) == before
    assert browser.asks("POST", "/as-planned", urlencode(browser.form()).encode(), **origin) == 303
    assert len(browser.ledger.facts()) > before
    assert browser.asks("GET", "/hives", Host="evil.example") == 404


def test_what_the_picture_of_the_weeks_shows_stands_in_words_too(browser: Browser) -> None:
    """What waits until when, and how full the freezer is wherever that changes: its peak is the one that the picture names, at the end it is empty."""
    page = browser.opens("/ahead")
    waits = re.findall(r'<tr><th scope="row">([^<]*)</th><td>([^<]*)</td><td>([^<]*)</td></tr>', page)
    plan = view_at(browser.ledger, LATER).plan
    assert len(waits) == sum(task.is_open and task.has_time and task.hold_done is not None and task.alongside is None for task in plan.tasks) > 5
    assert ("Wed 12 Aug 14:08", "Rack 20 pieces to drain, lot a") in {(until, title) for until, title, _ in waits}
    full = re.findall(r'<tr><th scope="row">[^<]*</th><td>(\d+) L</td></tr>', page.partition("How full the freezer is")[2])
    assert len(full) > 4
    assert full[-1] == "0"
    assert f">{max(map(int, full))} L</text>" in page
