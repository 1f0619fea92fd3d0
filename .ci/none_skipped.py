"""A pytest plugin for `.ci/run`: a test that was skipped, or expected to fail, fails the run."""

from __future__ import annotations

import pytest

skipped: list[str] = []


def pytest_runtest_logreport(report: pytest.TestReport) -> None:
    """Note a test that did not run, or that failed as expected."""
    if report.skipped:
        skipped.append(report.nodeid)


def pytest_collectreport(report: pytest.CollectReport) -> None:
    """Note a whole file that was skipped while it was read."""
    if report.skipped:
        skipped.append(report.nodeid)


@pytest.hookimpl(tryfirst=True)
def pytest_sessionfinish(session: pytest.Session) -> None:
    """Turn the exit status before the closing line is printed."""
    if skipped and session.exitstatus in (pytest.ExitCode.OK, pytest.ExitCode.NO_TESTS_COLLECTED):
        session.exitstatus = pytest.ExitCode.TESTS_FAILED


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """Say which tests they were, above the closing line."""
    if skipped:
        terminalreporter.section("skipped, which this run does not allow", red=True)
        for name in skipped:
            terminalreporter.line(name)
