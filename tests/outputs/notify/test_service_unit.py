"""The texts of the services that start the watch at login."""

from __future__ import annotations

import plistlib
import sys
from pathlib import Path
from xml.etree import ElementTree

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.outputs.notify.service_unit import launchd_agent, scheduled_task, systemd_unit, user_service

COMMAND = [sys.executable, "-m", "scheduler", "watch", "--ledger", "/srv/honey house/ledger 100%.sqlite"]
NAMESPACE = "{http://schemas.microsoft.com/windows/2004/02/mit/task}"


def test_a_systemd_unit_keeps_spaces_and_signs_of_a_path() -> None:
    """Quoted, and % doubled, as systemd.syntax(7) and systemd.unit(5) ask for."""
    assert '"/srv/honey house/ledger 100%%.sqlite"' in systemd_unit(COMMAND).decode()


@given(st.lists(st.text(st.characters(min_codepoint=32, exclude_categories=("Cs",)), min_size=1), min_size=1, max_size=5))
def test_a_launchd_agent_starts_exactly_the_command(command: list[str]) -> None:
    """Whatever is in its words."""
    assert plistlib.loads(launchd_agent(command))["ProgramArguments"] == command


def test_a_windows_task_is_xml_that_starts_the_command() -> None:
    """Arguments with blanks are quoted; the text says its encoding."""
    action = ElementTree.fromstring(scheduled_task(COMMAND)).find(f".//{NAMESPACE}Exec")
    assert action is not None
    assert action.findtext(f"{NAMESPACE}Command") == sys.executable
    assert action.findtext(f"{NAMESPACE}Arguments") == '-m scheduler watch --ledger "/srv/honey house/ledger 100%.sqlite"'


@pytest.mark.parametrize("platform", ["linux", "darwin", "win32"])
def test_each_service_lies_in_the_persons_own_folders(platform: str) -> None:
    """No service of the whole machine is written."""
    service = user_service(platform, Path("/home/keeper"), Path("/home/keeper/settings"), COMMAND)
    assert service.path.is_relative_to("/home/keeper")
    assert service.start
    assert service.stop
