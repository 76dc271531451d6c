"""Writes files that people edit: whole, or not at all."""

from __future__ import annotations

from pathlib import Path

import click


def write_whole(path: Path, text: str) -> None:
    """Put `text` into a file, which at no moment holds a part of it. Raises ClickException."""
    # Its name makes it hidden, so that nobody takes it for a part of a pack.
    beside = path.with_name(f".{path.name}.new")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        beside.write_text(text, encoding="utf-8")
        if path.exists():
            beside.chmod(path.stat().st_mode)
        beside.replace(path)
    except OSError as error:
        beside.unlink(missing_ok=True)
        raise click.ClickException(f"{path} cannot be written: {error.strerror or error}") from error
