"""One watch on a session bus of its own: `dbus-run-session -- python -m tests.outputs.notify.desktop_session LEDGER NOW WAIT`.

Offers one alert of the example, tells it by the desktop, prints how it fared, and then waits until WAIT facts are in the ledger.
"""

from __future__ import annotations

import sys
import time

from scheduler.application.alert_ids import alert_key
from scheduler.daemon import Watch
from scheduler.ledger.store import Ledger
from scheduler.outputs.notify.config import NotificationConfig
from scheduler.outputs.notify.desktop import Desktop
from scheduler.outputs.notify.message import OnPress

FREEZE = "ridge-2/a/freeze.1"


def main(where: str, now: int, wait: int) -> None:
    """Tell what is due at `now`."""
    clock = [now]

    def channels(_: NotificationConfig, press: OnPress) -> dict[str, Desktop]:
        return {"desktop": Desktop(press)}

    nobody = Watch(where, NotificationConfig(), lambda *_: {}, lambda _: None, lambda: now)
    nobody.look()
    nobody.stop()
    watch = Watch(where, NotificationConfig(), channels, lambda line: sys.stderr.write(line + "\n"), lambda: clock[0])
    with Ledger.open(where) as ledger:
        due = next(one.due_at for one in ledger.alerts.all() if one.id == alert_key(FREEZE, 0, "keeper"))
        for one in ledger.alerts.all():
            if one.id != alert_key(FREEZE, 0, "keeper"):
                ledger.alerts.acknowledge(one.id, now)
        clock[0] = due
        looked = watch.look()
        row = next(one for one in ledger.alerts.all() if one.task == FREEZE)
        sys.stdout.write(f"{looked.sent if looked else None} told, {row.channel}, {row.failure}\n")
        sys.stdout.flush()
        end = time.monotonic() + 30
        while ledger.position() < wait and time.monotonic() < end:
            time.sleep(0.05)
        sys.stdout.write(f"{ledger.facts()[-1].fact!r}\n")
    watch.stop()


if __name__ == "__main__":
    main(sys.argv[1], int(sys.argv[2]), int(sys.argv[3]))
