"""A newcomer's machine: no right to write, a closed pipe, a full disk, a poor terminal. Every command ends in words or quietly."""

from __future__ import annotations

import contextlib
import os
import re
import shlex
import shutil
import subprocess
import sys
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest

from scheduler.cli.terminal import PLAIN
from scheduler.ledger.store import Ledger
from tests.conftest import fill

ROOT = Path(__file__).resolve().parents[2]
RIDGE = ROOT / "examples/kestrel_bank/ridge-2.yaml"
POSIX = pytest.mark.skipif(sys.platform == "win32", reason="the folders and devices of POSIX")


@pytest.fixture
def locked(tmp_path: Path) -> Iterator[Path]:
    """A folder in which nobody may write, the administrator neither."""
    if os.geteuid() == 0:
        yield Path("/proc")
        return
    folder = tmp_path / "locked"
    folder.mkdir(mode=0o555)
    yield folder
    folder.chmod(0o755)


def types(*words: str | Path, status: int = 0, cwd: Path = ROOT, **environment: str | None) -> subprocess.CompletedProcess[bytes]:
    """Type a command in a process of its own. No traceback reaches a person; None takes a variable away."""
    known = {**os.environ, "PYTHONPATH": str(ROOT), **environment}
    settings = {name: value for name, value in known.items() if value is not None}
    result = subprocess.run([sys.executable, "-m", "scheduler", *map(str, words)], cwd=cwd, env=settings, capture_output=True, check=False)
    assert result.returncode == status, result.stderr.decode()
    assert b"Traceback" not in result.stderr
    assert b"a fault of the program" not in result.stderr
    return result


YARD = ("--yard", "Kestrel Bank", "--latitude", "46.31", "--longitude", "14.18", "--timezone", "Europe/Ljubljana", "--units", "metric")
LOT = ("--hive", "north", "--lot", "extracted 14 medium 17.9%")


@POSIX
def test_a_yard_whose_file_can_not_be_written_is_not_set(tmp_path: Path, locked: Path) -> None:
    """The file comes before the fact: typed again where it can be written, it is set as if nothing had been."""
    ledger = tmp_path / "ledger.sqlite"
    said = types("init", *YARD, "--ledger", ledger, cwd=locked, status=2).stderr.decode()
    assert said.startswith("yard.yaml: cannot be written: ")
    assert not ledger.exists()
    types("init", *YARD, "--ledger", ledger, cwd=tmp_path)


@POSIX
def test_a_harvest_whose_file_can_not_be_written_is_not_logged(tmp_path: Path, locked: Path) -> None:
    """The ledger holds what it held, to the line."""
    ledger = tmp_path / "ledger.sqlite"
    types("init", *YARD, "--ledger", ledger, cwd=tmp_path)
    types("ledger", "export", tmp_path / "before.jsonl", "--ledger", ledger)
    said = types("log", "--harvest", "ridge-3", *LOT, "--ledger", ledger, cwd=locked, status=2).stderr.decode()
    assert said.startswith("ridge-3.yaml: cannot be written: ")
    types("ledger", "export", tmp_path / "after.jsonl", "--ledger", ledger)
    assert (tmp_path / "after.jsonl").read_bytes() == (tmp_path / "before.jsonl").read_bytes()


def test_no_file_is_left_of_what_was_refused(tmp_path: Path) -> None:
    """What is wrong in the words is told, and the same command with other words does not find a file in its way."""
    ledger = tmp_path / "ledger.sqlite"
    types("init", *YARD, "--latitude", "99", "--ledger", ledger, cwd=tmp_path, status=2)
    assert not (tmp_path / "yard.yaml").exists()
    types("init", *YARD, "--ledger", ledger, cwd=tmp_path)
    types("log", "--harvest", "ridge-3", *LOT, "--pulled", "2148-08-11T10:30", "--ledger", ledger, cwd=tmp_path, status=2)
    assert not (tmp_path / "ridge-3.yaml").exists()
    types("log", "--harvest", "ridge-3", *LOT, "--ledger", ledger, cwd=tmp_path)
    assert (tmp_path / "ridge-3.yaml").exists()


@pytest.fixture(scope="module")
def ledger(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A ledger with the invented yard and its harvest of August 2026."""
    place = tmp_path_factory.mktemp("kept") / "ledger.sqlite"
    with Ledger.open(place) as made:
        fill(made)
    return place


SPOKEN = [  # whatever prints more than a line
    "plan RIDGE --as-of 2026-08-11T10:30",
    "plan RIDGE --as-of 2026-08-11T10:30 --why ridge-2/a/freeze.1",
    "agenda --all",
    "why a/freeze",
    "season",
    "alarms",
    "rules list --basis assumed",
    "rules show freeze",
    "estimate freeze --size '102 x 51 x 32 mm' --from '21 °C' --freezer '-18 °C'",
    "--help",
    "plan --help",
    "observe --help",
]
READ = [  # by programs
    "plan RIDGE --as-of 2026-08-11T10:30 --json",
    "calendar",
    "rules schema",
    "estimate freeze --size '102 x 51 x 32 mm' --from '21 °C' --freezer '-18 °C' --json",
]


def words_of(line: str) -> list[str]:
    """A command as it is typed."""
    return [str(RIDGE) if word == "RIDGE" else word for word in shlex.split(line)]


@cache
def wide(line: str, ledger: Path, status: int = 0) -> tuple[str, str]:
    """What a command says, and what of faults, on a screen of 400 columns that has every letter."""
    said = types(*words_of(line), AFTERPULL_LEDGER=str(ledger), PYTHONIOENCODING="utf-8", COLUMNS="400", status=status)
    return said.stdout.decode(), said.stderr.decode()


@pytest.mark.parametrize("line", [*SPOKEN[::2], SPOKEN[-1], *READ])
def test_a_reader_that_leaves_is_no_fault(ledger: Path, line: str) -> None:
    """`| head`: nothing is said of it, and the command has done what it was asked to."""
    process = subprocess.Popen(
        [sys.executable, "-m", "scheduler", *words_of(line)],
        cwd=ROOT,
        env={**os.environ, "AFTERPULL_LEDGER": str(ledger)},
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
    )
    assert process.stdout is not None
    process.stdout.close()
    _, said = process.communicate()
    assert (process.returncode, said) == (0, b"")


@POSIX
@pytest.mark.parametrize("line", [SPOKEN[0], SPOKEN[2], SPOKEN[6], "--help", *READ[:2]])
def test_a_full_disk_is_told_in_words(ledger: Path, line: str) -> None:
    """What was to be read is not all there, so the exit status says so too."""
    with open("/dev/full", "wb") as full:
        environment = {**os.environ, "AFTERPULL_LEDGER": str(ledger)}
        command = [sys.executable, "-m", "scheduler", *words_of(line)]
        result = subprocess.run(command, cwd=ROOT, env=environment, stdout=full, stderr=subprocess.PIPE, check=False)
    assert result.returncode == 2
    assert result.stderr.decode() == "standard output cannot be written: no space left on device\n    write it to a disk with room\n"


@POSIX
def test_a_calendar_that_finds_no_room_is_told_in_words_and_a_device_stays_a_device() -> None:
    """What is written to a device goes through it: no file takes its place."""
    said = types(*words_of(SPOKEN[0]), "--calendar", "/dev/full", status=2).stderr
    assert said.startswith(b"/dev/full: cannot be written: no space left on device\n    write ")
    assert Path("/dev/full").is_char_device()


@POSIX
def test_what_was_told_is_recorded_though_the_answer_finds_no_room(tmp_path: Path) -> None:
    """The words come last: a task marked as done is done, once."""
    ledger = tmp_path / "ledger.sqlite"
    types("init", *YARD, "--ledger", ledger, cwd=tmp_path)
    types("log", "--harvest", "ridge-3", *LOT, "--ledger", ledger, cwd=tmp_path)
    with open("/dev/full", "wb") as full:
        command = [sys.executable, "-m", "scheduler", "done", "close-up", "--ledger", str(ledger)]
        assert subprocess.run(command, stdout=full, stderr=subprocess.DEVNULL, check=False).returncode == 2
    assert b"is done already" in types("done", "close-up", "--ledger", ledger, status=2).stderr


@POSIX
@pytest.mark.parametrize("line", [SPOKEN[0], SPOKEN[4], "calendar"])
def test_no_standard_output_at_all_is_quiet(ledger: Path, line: str) -> None:
    """As a service starts a program."""
    command = ["sh", "-c", 'exec "$@" >&-', "sh", sys.executable, "-m", "scheduler", *words_of(line)]
    result = subprocess.run(command, cwd=ROOT, env={**os.environ, "AFTERPULL_LEDGER": str(ledger)}, stderr=subprocess.PIPE, check=False)
    assert (result.returncode, result.stderr) == (0, b"")


@pytest.mark.parametrize(("line", "encoding"), [*((line, "ascii") for line in SPOKEN), (SPOKEN[1], "latin-1"), (SPOKEN[1], "cp437")])
def test_a_letter_that_the_output_lacks_is_spelt_with_those_it_has(ledger: Path, line: str, encoding: str) -> None:
    """21 °C becomes 21 C where there is no degree sign, and nothing becomes a question mark."""
    for _ in range(3):  # a minute may end between the two
        said = types(*words_of(line), AFTERPULL_LEDGER=str(ledger), PYTHONIOENCODING=encoding, COLUMNS="400").stdout.decode(encoding)
        whole, _ = wide(line, ledger)
        if said.splitlines()[:1] == whole.encode(encoding, PLAIN).decode(encoding).splitlines()[:1]:
            break
        wide.cache_clear()
    assert said.count("?") == whole.count("?")
    assert said == whole.encode(encoding, PLAIN).decode(encoding)


@pytest.mark.parametrize("line", READ)
def test_what_programs_read_is_utf_8_whatever_the_terminal_is(ledger: Path, line: str) -> None:
    """JSON and calendars have an encoding of their own, and no width (RFC 8259 section 8.1, RFC 5545 section 3.1.4)."""
    plain = types(*words_of(line), AFTERPULL_LEDGER=str(ledger))
    poor = types(*words_of(line), AFTERPULL_LEDGER=str(ledger), PYTHONIOENCODING="ascii", COLUMNS="40")
    assert poor.stdout == plain.stdout
    assert "°" in plain.stdout.decode() or line == "rules schema"


@POSIX
def test_the_plainest_locale_is_enough(ledger: Path) -> None:
    """LC_ALL=C without any of Python's mending of it: input, plan and refusals go through."""
    plain = {"LC_ALL": "C", "LANG": None, "PYTHONCOERCECLOCALE": "0", "PYTHONUTF8": "0", "PYTHONIOENCODING": None}
    assert b"in air at -18 C" in types(*words_of(SPOKEN[1]), **plain).stdout
    said = types("plan", "Jürgen.yaml", status=2, **plain).stderr
    assert b"cannot be read: no such file or directory" in said


NO_HOME = "import os; os.path.expanduser = lambda path: path; from scheduler.__main__ import run; run()"


@pytest.mark.parametrize(
    ("line", "status"),
    [("plan RIDGE --as-of 2026-08-11T10:30", 0), ("agenda", 2), ("agenda --ledger ~/ledger", 2), (shlex.join(["init", *YARD]), 2), ("watch --install", 2)],
)
def test_without_a_home_folder_the_files_alone_are_enough(tmp_path: Path, line: str, status: int) -> None:
    """An account that has none, as of a service: what needs the ledger says how to name it, and nothing is left in a folder called ~."""
    bare = {name: value for name, value in os.environ.items() if name != "HOME" and not name.startswith(("XDG_", "AFTERPULL_"))}
    command = [sys.executable, "-c", NO_HOME, *words_of(line)]
    result = subprocess.run(command, cwd=tmp_path, env={**bare, "PYTHONPATH": str(ROOT)}, capture_output=True, check=False)
    assert result.returncode == status, result.stderr.decode()
    assert status == 0 or b"HOME is not set" in result.stderr
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("line", [*SPOKEN, "plan RIDGE --frm", "plan no-such-harvest.yaml", "done no-such-task"])
def test_forty_columns_are_enough(ledger: Path, line: str) -> None:
    """The same words as on a wide screen, none broken; only a single word that is longer stands out."""
    status = 2 if "no-such" in line or "--frm" in line else 0
    for _ in range(2 if line.startswith("agenda") else 0):
        types(*words_of(line), AFTERPULL_LEDGER=str(ledger))  # what moved since the last look is said once
        wide.cache_clear()
    for _ in range(3):  # the clock may go on by a minute between the two
        found = types(*words_of(line), AFTERPULL_LEDGER=str(ledger), COLUMNS="40", status=status)
        narrow = found.stdout.decode() + found.stderr.decode()
        if narrow.split() == "".join(wide(line, ledger, status)).split():
            break
        wide.cache_clear()
    assert narrow.split() == "".join(wide(line, ledger, status)).split()
    for row in narrow.splitlines():
        assert len(row) <= 40 or " " not in row.strip(), row


def on_a_terminal(line: str, ledger: Path, **environment: str) -> str:
    """What a command shows on a terminal of 40 columns."""
    import fcntl
    import pty
    import struct
    import termios

    ours, theirs = pty.openpty()
    fcntl.ioctl(theirs, termios.TIOCSWINSZ, struct.pack("HHHH", 25, 40, 0, 0))
    known = {name: value for name, value in os.environ.items() if name not in ("NO_COLOR", "COLUMNS")}
    settings = {**known, "AFTERPULL_LEDGER": str(ledger), **environment}
    process = subprocess.Popen([sys.executable, "-m", "scheduler", *words_of(line)], cwd=ROOT, env=settings, stdout=theirs, stderr=theirs, stdin=theirs)
    os.close(theirs)
    shown = b""
    with contextlib.suppress(OSError):  # how Linux says that the other end is closed
        while more := os.read(ours, 65536):
            shown += more
    os.close(ours)
    assert process.wait() == 0, shown.decode()
    return shown.decode()


@POSIX
def test_a_terminal_says_itself_how_wide_it_is_and_whether_it_paints(ledger: Path) -> None:
    """Colour where it is shown; none on a dumb terminal, nor where it is not wanted; 40 columns without being told."""
    painted, dumb = on_a_terminal(SPOKEN[0], ledger, TERM="xterm"), on_a_terminal(SPOKEN[0], ledger, TERM="dumb")
    unwanted = on_a_terminal(SPOKEN[0], ledger, TERM="xterm", NO_COLOR="1")
    assert "\x1b[" in painted
    assert "\x1b" not in dumb + unwanted
    assert dumb == unwanted == re.sub(r"\x1b\[[\d;]*m", "", painted)
    assert all(len(row) <= 40 or " " not in row.strip() for row in dumb.splitlines())


@POSIX
def test_an_install_that_may_not_be_written_reads_its_rules_once(tmp_path: Path) -> None:
    """They are kept in the person's own cache folder instead; where there is none either, a plan is made all the same, and quietly."""
    for package in ("scheduler", "rulesets"):
        shutil.copytree(ROOT / package, tmp_path / package, ignore=shutil.ignore_patterns("__pycache__"))
    (tmp_path / "rulesets/__pycache__").touch()  # nothing can be kept there, by the administrator neither
    own, nowhere = tmp_path / "own", tmp_path / "nowhere"
    nowhere.touch()

    def plans(cache: Path) -> bytes:
        return types(*words_of(SPOKEN[0]), cwd=tmp_path, PYTHONPATH=str(tmp_path), PYTHONDONTWRITEBYTECODE=None, XDG_CACHE_HOME=str(cache)).stdout

    first = plans(own)
    [kept] = (own / "afterpull").iterdir()
    made = kept.stat()
    assert plans(own) == first == plans(nowhere)
    assert (kept.stat().st_ino, kept.stat().st_mtime_ns) == (made.st_ino, made.st_mtime_ns)


def test_the_first_plan_of_a_fresh_yard_says_what_it_leaves_out(tmp_path: Path) -> None:
    """The harvest of README.md in the yard that init wrote: nobody has said when bees rob there, and that is said before anything is planned."""
    [harvest] = re.findall(r"```yaml\n(# harvest.yaml\n.*?)```", (ROOT / "README.md").read_text(encoding="utf-8"), re.DOTALL)
    (tmp_path / "harvest.yaml").write_text(harvest, encoding="utf-8")
    types("init", *YARD, "--ledger", tmp_path / "ledger.sqlite", cwd=tmp_path)

    def plan() -> str:
        return types("plan", "harvest.yaml", "--as-of", "2026-08-11T10:30", cwd=tmp_path, COLUMNS="400").stdout.decode()

    head, _, days = plan().partition("\n\nTue 11 Aug\n")
    head = " ".join(head.split())
    assert "robbing season is not set, so this is left out: reduce entrances, watch entrances." in head
    assert 'Write "robbing: DAY to DAY" under season in the yard file, or "robbing: none"' in head
    assert "Reduce the entrances" not in days
    yard = (tmp_path / "yard.yaml").read_text(encoding="utf-8")
    for said, reduced in (("robbing: none", False), ("robbing: 25 July to 15 October", True)):
        (tmp_path / "yard.yaml").write_text(yard.replace("#  robbing: 25 July to 15 October", f"  {said}"), encoding="utf-8")
        text = plan()
        assert "robbing season is not set" not in text
        assert ("Reduce the entrances" in text) is reduced
