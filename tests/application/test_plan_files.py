"""Yard and harvests from files: which yard is meant, which moment, and what is refused before anything is planned. All invented."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from scheduler.application.plan_files import find_yard, is_yard, moment, problem_of, rules_of
from scheduler.diagnostics import Refused
from tests.planning.whole import yard, yard_text

HARVEST = "harvest: {name}\npulled: 2026-08-11T10:30\nhives: [north]\nlots:\n  - {{id: a, kind: extracted, frames: 9, frame: medium}}\n"
AS_OF = "2026-08-11T11:00"


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder with a yard and two harvests, and the person in another."""
    (tmp_path / "bees").mkdir()
    (tmp_path / "elsewhere").mkdir()
    monkeypatch.chdir(tmp_path / "elsewhere")
    (tmp_path / "bees/yard.yaml").write_text(yard_text(), encoding="utf-8")
    for name in ("ridge-1", "ridge-2"):
        (tmp_path / f"bees/{name}.yaml").write_text(HARVEST.format(name=name), encoding="utf-8")
    return tmp_path / "bees"


def test_the_yard_lies_beside_the_harvest_or_in_this_folder(folder: Path) -> None:
    """Beside the harvest first."""
    harvest = folder / "ridge-2.yaml"
    assert find_yard([harvest]) == folder / "yard.yaml"
    Path("yard.yaml").write_text(yard_text(), encoding="utf-8")
    assert find_yard([harvest]) == folder / "yard.yaml"
    (folder / "yard.yaml").unlink()
    assert find_yard([harvest]) == Path("yard.yaml")
    Path("yard.yaml").unlink()
    with pytest.raises(Refused, match=r"there is no yard\.yaml beside the harvest or in this folder"):
        find_yard([harvest])


@pytest.mark.parametrize(
    ("typed", "hours"),
    [("2026-08-11T10:30", 8.5), ("2026-08-11T10:30+00:00", 10.5), ("2026-08-11T10:30Z", 10.5), ("2026-01-11T10:30", -212 * 24 + 9.5), ("2026-08-11", -2)],
)
def test_a_moment_without_an_offset_is_local_time_at_the_yard(typed: str, hours: float) -> None:
    """Two hours ahead of UTC in summer, one in winter."""
    assert moment(typed, yard()) == int((datetime(2026, 8, 11, tzinfo=UTC) + timedelta(hours=hours)).timestamp())


def test_a_moment_that_is_one_is_taken_as_it_is() -> None:
    """And one of no zone is the yard's."""
    at = datetime(2026, 8, 11, 10, 30)  # noqa: DTZ001 of no zone, as a clock on the wall
    assert moment(at, yard()) == moment(at.replace(tzinfo=ZoneInfo("Europe/Ljubljana")), yard())


@pytest.mark.parametrize(("typed", "said"), [("soon", '"soon" is not a time'), ("1800-01-01T00:00", "1800"), ("2200-01-01T00:00", "2200")])
def test_what_is_no_moment_that_can_be_planned_from_is_refused(typed: str, said: str) -> None:
    """No time, and years that no plan is of."""
    with pytest.raises(Refused, match=f"--as-of: .*{said}"):
        moment(typed, yard())


def test_every_fault_of_every_file_is_told_at_once(folder: Path) -> None:
    """Two harvests with a slip of the pen each."""
    for name, slip in (("ridge-1", "frames: 0"), ("ridge-2", "frames: -1")):
        (folder / f"{name}.yaml").write_text(HARVEST.format(name=name).replace("frames: 9", slip), encoding="utf-8")
    with pytest.raises(Refused, match="is not a number of frames") as refused:
        problem_of([folder / "ridge-1.yaml", folder / "ridge-2.yaml"], None, (), AS_OF)
    assert [Path(one.path).name for one in refused.value.diagnostics] == ["ridge-1.yaml", "ridge-2.yaml"]


def test_a_harvest_that_stands_in_two_files_is_one_too_many(folder: Path) -> None:
    """The second is refused, and names the first."""
    (folder / "copy.yaml").write_text(HARVEST.format(name="ridge-2"), encoding="utf-8")
    with pytest.raises(Refused, match=r'copy\.yaml:1:1: the harvest "ridge-2" is also in .*ridge-2\.yaml'):
        problem_of([folder / "ridge-2.yaml", folder / "copy.yaml"], None, (), AS_OF)
    assert len(problem_of([folder / "ridge-1.yaml", folder / "ridge-2.yaml"], None, (), AS_OF).harvests) == 2


def test_a_yard_given_as_a_harvest_is_told_so(folder: Path) -> None:
    """Not by twenty unknown keys."""
    with pytest.raises(Refused, match="this is a yard, and a plan is made of a harvest") as refused:
        problem_of([folder / "yard.yaml"], None, (), AS_OF)
    assert len(refused.value.diagnostics) == 1


def test_what_a_plan_is_compared_with_is_a_yard_or_rules(folder: Path) -> None:
    """By what stands in it; a name of no file is an overlay's."""
    assert is_yard(str(folder / "yard.yaml"))
    assert not is_yard(str(folder / "ridge-2.yaml"))
    assert not is_yard("warm humid")


def test_an_overlay_that_is_not_there_is_told_at_the_yard_file(folder: Path) -> None:
    """With the names of those that are."""
    with pytest.raises(Refused, match="warm humid") as refused:
        rules_of(yard(), ["warm humit"])
    assert refused.value.diagnostics[0].path == "yard.yaml"
