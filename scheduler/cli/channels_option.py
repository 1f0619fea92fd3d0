"""The option `--channels`, and the file that it names."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from scheduler.outputs.notify.config import NotificationConfig

_WHO = "Who gets which alerts, and how. Default: channels.yaml in your settings folder."
CHANNELS = click.option("--channels", type=click.Path(path_type=Path), metavar="FILE", help=_WHO)


def config_from(path: Path | None) -> NotificationConfig:
    """The keeper's file, where it was named or lies in the settings folder; else as it is without one. Raises `Refused`."""
    from scheduler.application.files import read_bytes
    from scheduler.outputs.notify.config import NotificationConfig, read_config

    path = path or usual_channels()
    if path is None:
        return NotificationConfig()
    config = read_config(read_bytes(path), str(path))
    for old in config.old_words:
        click.echo(old, err=True)
    return config


def usual_channels() -> Path | None:
    """The keeper's file in the settings folder; None where there is none."""
    import platformdirs

    try:
        path = platformdirs.user_config_path("afterpull", appauthor=False).expanduser() / "channels.yaml"
    except RuntimeError:  # nobody knows where the home folder is
        return None
    return path if path.exists() else None
