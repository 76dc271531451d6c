import json
import secrets
import subprocess
import sys
from pathlib import Path

SCRIPT = Path(__file__).with_name("packs_killed.py")


def test_after_kill_9_in_the_midst_of_activations_exactly_one_whole_pack_is_in_force() -> None:
    """At moments that differ from run to run, and at each step. The script alone does it 50 times."""
    command = [sys.executable, str(SCRIPT), "8", str(secrets.randbelow(10**6))]
    done = subprocess.run(command, capture_output=True, text=True, check=False, timeout=300)
    assert done.returncode == 0, done.stdout + done.stderr
    outcome = json.loads(done.stdout)
    assert (outcome["times"], outcome["points"], outcome["faults"]) == (8, 5, [])
    assert outcome["activations"] > 2 * (8 + 5)
