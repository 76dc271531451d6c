"""The meanings of the base pack agree; the engine runs in a process of its own, which it may crash."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

SCRIPT = Path(__file__).with_name("base_pack_meanings.py")


def test_the_meanings_of_the_base_pack_agree() -> None:
    told = subprocess.run(
        [sys.executable, SCRIPT, "--cells", "900", "--outcomes", "100"], capture_output=True, text=True
    )
    assert (told.returncode, told.stderr) == (0, "")
    assert "agree with the reference: 900 random cells, one cell of each of 100 outcomes" in told.stdout
