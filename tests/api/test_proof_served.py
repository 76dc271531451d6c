"""What a proof finds at fault is at fault in the running service, at the very line item it shows."""

from __future__ import annotations

from itertools import islice
from pathlib import Path

from served_witnesses import application, faults, unshown

from api.snapshot import in_use


def test_every_witness_shows_its_fault_on_the_service(tmp_path: Path) -> None:
    app = application(tmp_path)
    shown = 0
    proven_wrong = (found for found in faults(seed=7) if found.proof)
    for found in islice(proven_wrong, 8):
        assert [fault.finding().message for fault in unshown(app, found)] == []
        shown += sum(fault.witness is not None for fault in found.proof)
    assert shown >= 8
    in_use(app).store.close()
