"""The service, whose memory runs out in the midst of a decision while a file is there.

`gunicorn … wearing:application()`, or `python wearing.py serve`. The environment names the file.
"""

from __future__ import annotations

import os
from pathlib import Path
from typing import Any

from api.commands import main
from api.running import workers
from api.running.awaiting import Awaiting
from rules.engines import durable_adapter

SHORT_OF_MEMORY = "SHORT_OF_MEMORY"


def be_short_of_memory() -> None:
    assert_fact = durable_adapter._QuietHost.assert_fact

    def perhaps(*arguments: Any) -> Any:
        if Path(os.environ[SHORT_OF_MEMORY]).exists():
            raise MemoryError
        return assert_fact(*arguments)

    durable_adapter._QuietHost.assert_fact = perhaps


def application() -> Awaiting:
    be_short_of_memory()
    return workers.application()


if __name__ == "__main__":
    be_short_of_memory()
    main(prog_name="stagewright")
