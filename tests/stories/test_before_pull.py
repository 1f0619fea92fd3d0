"""Before a pull: how many frames could be worked up, and what one more would miss; nothing is recorded."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from itertools import islice
from xml.etree import ElementTree
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.application.before_pull import days, shared, template_of
from scheduler.application.templates import harvest_like
from scheduler.facts.harvest import read_harvest
from scheduler.facts.yard import read_yard
from scheduler.ledger.store import Ledger
from scheduler.outputs.pictures.pull_days import svg
from scheduler.outputs.text.pull_table import Day, best_words, day_words
from tests.conftest import EXAMPLES
from tests.keeper import Keeper


@pytest.fixture
def thursday(new_place: str) -> Keeper:
    """Kestrel Bank on the Thursday before, with the pull of the example in a file."""
    return Keeper(new_place, "kestrel_bank", "Europe/Ljubljana", "2026-08-06T19:00")


def asked(keeper: Keeper, *words: str, refused: bool = False) -> str:
    """What is answered, on one line."""
    likely = () if "--odds" in words else ("--no-odds",)
    return " ".join(keeper.types("pull", *words, *likely, "--like", str(keeper.folder / "ridge-2.yaml"), refused=refused).split())


def test_the_number_that_fits_fits_and_the_next_does_not(thursday: Keeper) -> None:
    """Logged as it was answered, on that day, the plan misses no limit; with one frame more it does, as was said."""
    said = asked(thursday, "sun", "--frames", "b=14", "--frames", "c=0")
    frames = int(re.search(r"Sun 9 Aug 10:30 (\d+) frames", said)[1])
    stops = re.search(r"one more: (.*? late)", said)[1]
    for more in (0, 1):
        lots = f"cut comb {frames - 14 + more} shallow 17.4%", "extracted 14 medium 17.9%"
        text = (thursday.folder / "ridge-2.yaml").read_text(encoding="utf-8")
        text = re.sub(r"pulled: .*", "pulled: 2026-08-09T10:30", text)
        text = re.sub(r"frames: 5,", f"frames: {frames - 14 + more},", text)
        text = "\n".join(line for line in text.splitlines() if "dry comb" not in line)
        with Ledger.open(thursday.ledger) as ledger:
            from scheduler.application.tell import log

            log(ledger, [(text.encode(), "sunday.yaml")], thursday.moment("2026-08-09T10:30"))
        thursday.waits_until("2026-08-09T10:30")
        late = [one for one in thursday.plan.warnings if one.kind == "due date missed"]
        assert bool(late) == bool(more), (lots, stops)
        thursday.waits_until("2026-08-06T19:00")


def test_nothing_is_recorded(thursday: Keeper) -> None:
    """However many days are asked about."""
    before = thursday.view.recorded
    asked(thursday, "sat", "--days", "2")
    assert thursday.view.recorded == before


def test_later_in_the_week_fewer_frames_fit(thursday: Keeper) -> None:
    """On Saturday a whole weekend lies ahead, on Tuesday four evenings."""
    said = asked(thursday, "sat", "--days", "4", "--frames", "b=14", "--frames", "c=0")
    found = [int(count) for count in re.findall(r"Aug \d\d:\d\d (\d+) frames", said)]
    assert len(found) == 4
    assert found == sorted(found, reverse=True)
    assert f"Most: Sat 8 Aug 10:30, {found[0]}" in said
    assert "To plan it, the same with --as NAME: Sat 8 Aug 10:30" in said


def test_one_word_makes_the_best_day_a_planned_harvest(thursday: Keeper, monkeypatch: pytest.MonkeyPatch, tmp_path_factory: pytest.TempPathFactory) -> None:
    """As the other was, but for what nobody can know before: its file is written and logged, with the frames that were found, and is refused twice."""
    folder = tmp_path_factory.mktemp("typed")
    monkeypatch.chdir(folder)
    said = asked(thursday, "sat", "--days", "2", "--as", "ridge-3")
    frames = re.search(r"Sat 8 Aug 10:30 \d+ (?:or more )?frames \(a (\d+), b (\d+), c (\d+)\)", said)
    assert "Planned for Sat 8 Aug 10:30: ridge-3.yaml." in said
    assert list(thursday.view.ahead) == ["ridge-3"]
    planned = next(one for one in thursday.view.harvests if one.harvest == "ridge-3")
    assert [lot.frames for lot in planned.lots] == [int(count) for count in frames.groups()]
    assert (planned.lots[0].comb_thickness, planned.lots[0].imperfect, planned.hives) == (pytest.approx(0.032), pytest.approx(0.2), ("north", "ridge"))
    assert [lot.moisture for lot in planned.lots] == [None, None, None]
    assert "ridge-3.yaml exists already" in asked(thursday, "sat", "--as", "ridge-3", refused=True)


KIND = st.sampled_from(["cut comb", "chunk honey", "extracted", "dry comb"])
SHAPES = st.fixed_dictionaries(
    {
        "kind": KIND,
        "frames": st.integers(1, 40),
        "frame": st.just("medium"),
        "comb thickness": st.integers(20, 45).map("{} mm".format),
        "imperfect": st.integers(0, 100).map("{} %".format),
        "jar": st.integers(50, 900).map("{} mL".format),
        "package": st.sampled_from(["film", "carton"]),
        "sets soon": st.booleans(),
    }
)


@given(st.lists(SHAPES, min_size=1, max_size=4), st.booleans())
def test_a_harvest_that_is_like_another_reads_back_like_it(shapes: list[dict[str, object]], us: bool) -> None:
    """Whatever the shapes of its lots, in metric and US units."""
    yard = read_yard((EXAMPLES / "yard.yaml").read_bytes(), "yard.yaml")
    lots = [{"id": "abcd"[number], **shape} for number, shape in enumerate(shapes)]
    like = read_harvest(json.dumps({"harvest": "was", "pulled": "2026-08-11T10:30", "hives": ["north"], "lots": lots}).encode(), "was.yaml", yard)
    frames = {lot.id: lot.frames + 1 for lot in like.lots}
    again = read_harvest(harvest_like(like, "next", 1_786_437_000, ZoneInfo("Europe/Ljubljana"), frames, us=us).encode(), "next.yaml", yard)
    for lot, was in zip(again.lots, like.lots, strict=True):
        assert (lot.kind, lot.frames, lot.frame, lot.package, lot.sets_soon) == (was.kind, was.frames + 1, was.frame, was.package, was.sets_soon)
        for name in ("comb_thickness", "imperfect", "jar"):
            assert getattr(lot, name) == pytest.approx(getattr(was, name), rel=1e-5)
        assert lot.piece == pytest.approx(was.piece, rel=1e-5)


def test_who_stops_it_keeps_the_days_that_are_known(thursday: Keeper, monkeypatch: pytest.MonkeyPatch) -> None:
    """Ctrl-C after the second of fourteen: the best of the two is named, and with --as nothing is planned."""

    def stopped(*words: object, **more: object) -> Iterator[Day]:
        yield from islice(days(*words, **more), 2)  # type: ignore[arg-type]
        raise KeyboardInterrupt

    monkeypatch.setattr("scheduler.application.before_pull.days", stopped)
    said = asked(thursday, "sat", "--days", "14")
    assert "Most: Sat 8 Aug 10:30" in said
    assert "Mon 10 Aug 17:30" not in said
    with pytest.raises(AssertionError, match="Aborted"):
        asked(thursday, "sat", "--days", "14", "--as", "ridge-3")
    assert not thursday.view.harvests


def test_the_days_are_drawn_too(thursday: Keeper) -> None:
    """A bar a day, its frames beside it, and how many make it in 9 of 10 weeks; words do not overlap, and the same days give the same bytes."""
    found = [
        Day(thursday.moment(f"2026-08-{8 + number:02}T10:30"), True, frames, (("a", frames),), False, None, None, None, None, safe, (("a", safe),))
        for number, (frames, safe) in enumerate([(20, 14), (12, 12), (0, None), (7, 0)])
    ]
    drawn = svg(found, "A pull like ridge-2", thursday.view.zone)
    assert drawn == svg(found, "A pull like ridge-2", thursday.view.zone)
    root = ElementTree.fromstring(drawn)
    words = [(float(one.get("x")), float(one.get("y")), one.text) for one in root.iter("{http://www.w3.org/2000/svg}text")]
    bars = [text for _, _, text in words[2:] if "frames" in text or text == "none"]
    assert bars == ["20 frames, 14 in 9 of 10 weeks", "12 frames, 12 in 9 of 10 weeks", "none", "7 frames, none in 9 of 10 weeks"]
    rows = [y for _, y, _ in words]
    assert all(abs(a - b) >= 14 or a == b for a in rows for b in rows)


def test_a_day_without_free_hours_says_so(thursday: Keeper) -> None:
    """15 August is a day off in the yard file."""
    assert "no free hours then" in asked(thursday, "2026-08-15")


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["yesterday"], "past"),
        (["sat", "--days", "0"], "days cannot be asked about"),
        (["sat", "--frames", "q=3"], "a=4"),
        (["sat", "--frames", "b=500"], "500 frames are more than 2 hives hold"),
        (["sat", "--frames", "a=0", "--frames", "b=0", "--frames", "c=0"], "no frame would be pulled"),
    ],
)
def test_what_can_not_be_asked_is_refused(thursday: Keeper, words: list[str], says: str) -> None:
    """With what to write instead."""
    assert says in asked(thursday, *words, refused=True)


def test_a_template_that_does_not_exist_is_refused(thursday: Keeper) -> None:
    """Neither logged nor a file."""
    assert 'no harvest "zz" is logged' in thursday.types("pull", "sat", "--like", "zz", refused=True)


def test_work_that_is_on_already_takes_its_hours(thursday: Keeper) -> None:
    """With a harvest of Saturday in the house fewer frames fit on Sunday."""
    alone = asked(thursday, "sun", "--frames", "b=14", "--frames", "c=0")
    text = (thursday.folder / "ridge-2.yaml").read_text(encoding="utf-8").replace("ridge-2", "first").replace("frames: 5,", "frames: 30,")
    with Ledger.open(thursday.ledger) as ledger:
        from scheduler.application.tell import log

        log(ledger, [(re.sub(r"pulled: .*", "pulled: 2026-08-06T18:00", text).encode(), "first.yaml")], thursday.now)
    beside = asked(thursday, "sun", "--frames", "b=14", "--frames", "c=0")
    count = [int(found[1]) if (found := re.search(r"Aug \d\d:\d\d (\d+) ", said)) else 0 for said in (alone, beside)]
    assert count[1] < count[0]


@given(st.integers(0, 500), st.dictionaries(st.sampled_from("abcdef"), st.integers(0, 60), min_size=1))
def test_a_total_is_shared_whole_and_within_one_of_each_share(total: int, parts: dict[str, int]) -> None:
    """The largest remainders get what is left."""
    found = shared(total, parts)
    whole = sum(parts.values())
    assert sum(found.values()) == (total if whole else 0)
    assert all(abs(found[name] - total * part / whole) < 1 for name, part in parts.items() if whole)


def test_days_are_answered_one_by_one(thursday: Keeper) -> None:
    """So that the first is there before the last is reckoned, and can be enough."""
    view = thursday.view
    rows = days(view, template_of(view, str(thursday.folder / "ridge-2.yaml"), ["c=0"]), thursday.moment("2026-08-08T00:00"), 14, thursday.now)
    assert next(rows).frames > 0


@pytest.mark.slow
def test_fewer_frames_make_it_in_nine_of_ten_weeks_than_fit(thursday: Keeper) -> None:
    """What fits where every evening is kept is more than one can count on; with no evening missed it is no less. The word to plan it has the safe number."""
    said = asked(thursday, "sun", "--odds")
    fits, safe = int(re.search(r"10:30 (\d+)", said)[1]), int(re.search(r"in 9 of 10 weeks: (\d+) frames", said)[1])
    assert 0 < safe < fits
    lots = {name: int(count) for name, count in re.findall(r"(\w) (\d+)", re.search(r"weeks: \d+ frames \((.*?)\)", said)[1])}
    assert sum(lots.values()) == safe
    assert "in 9 of 10 weeks" not in asked(thursday, "sun")
    view = thursday.view
    view.__dict__["yard"] = view.yard.model_copy(update={"evenings_missed": 0.0})
    template = template_of(view, str(thursday.folder / "ridge-2.yaml"), ())
    [steady] = days(view, template, thursday.moment("2026-08-09T10:30"), 1, thursday.now, likely=True)
    assert steady.safe is not None
    assert steady.safe >= safe


def test_whether_it_is_time_is_said_with_its_numbers_and_nothing_is_recorded(thursday: Keeper) -> None:
    """Without a harvest to be like; the flow, a sample, robbing and the treatment. What asks for frames asks for a harvest."""
    said = " ".join(thursday.types("pull", "--capped", "70 %", "--moisture", "17.4 %").split())
    assert "the main flow ended on Mon 20 Jul" in said
    assert "the sample has 17.4 % of water, your limit is 18.6 %" in said
    assert said.index("AGAINST") < said.index("70 % is capped, and 80 % or more is usual")
    assert "You decide." in said
    assert "pull saturday --like HARVEST" in thursday.types("pull", "saturday", refused=True)
    assert "without --like" in thursday.types("pull", "--like", "ridge-2", "--capped", "70 %", refused=True)
    assert "has no unit" in thursday.types("pull", "--moisture", "17", refused=True)


def test_one_frame_is_one_and_days_that_never_go_well_are_not_called_the_most(thursday: Keeper) -> None:
    """Where on none of the days a frame makes it in 9 of 10 weeks, those are named that take most where every evening is kept."""
    at = thursday.moment("2026-08-08T10:30")
    one, none = (Day(at + number, True, 1, (("a", 1),), False, None, None, None, None, safe, ()) for number, safe in enumerate((1, 0)))
    zone = thursday.view.zone
    assert list(day_words(one, zone)) == ["1 frame (a 1)", "in 9 of 10 weeks: 1 frame"]
    assert list(day_words(none, zone))[1:] == ["in 9 of 10 weeks: none"]
    assert best_words([one, none], zone) == "Most in 9 of 10 weeks: Sat 8 Aug 10:30, 1"
    assert best_words([none], zone) == "On none of these days does it go well in 9 of 10 weeks. Most: Sat 8 Aug 10:30, 1"
