"""The demonstration from end to end."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

from api.demo.printing import WIDTH, procedure_in_text
from api.demo.service import Service, free_port, start_service, wait_until_ready
from api.demo.shop_software import invented_line_items, new_session, procedure_for

Say = Callable[[str], object]

_SMALLEST_LINE_ITEM = (
    '{"line_item": {"reference": "RO-1"}, "damage": {"type": "crack", "length_mm": 80},'
    ' "part": {"name": "bumper cover", "material": "TPO", "condition": "factory_finish"}}'
)


def run_demo(folder: Path, port: int, once: bool, say: Say) -> None:
    """Start the service, post the invented line items, say each procedure.

    Leaves the service running unless `once`. Raises DemoFailed; then nothing is left running.
    """
    free = free_port(port)
    if free != port:
        say(f"Port {port} is taken; using {free}.")
    service = start_service(folder, free)
    try:
        wait_until_ready(service)
        documents = _show_line_items(service, say)
    except BaseException:
        service.stop()
        raise
    if once:
        service.stop()
    say("The service is stopped again." if once else _farewell(service, documents[0]))


def _show_line_items(service: Service, say: Say) -> list[Mapping[str, Any]]:
    shop, stories = invented_line_items()
    say(f"The service answers at {service.address}.")
    say(f"{shop} posts {len(stories)} line items.\n")
    documents: list[Mapping[str, Any]] = []
    with new_session() as session:
        for number, story in enumerate(stories, start=1):
            document = procedure_for(session, service.address, story.body)
            documents.append(document)
            say(f"{f'-- {number} of {len(stories)} ':-<{WIDTH}}\n{story.about}\n")
            say(f"{procedure_in_text(document)}\n")
    return documents


def _farewell(service: Service, document: Mapping[str, Any]) -> str:
    timeline = f"{service.address}{document['links']['timeline']}"
    return "\n".join(
        [
            f"The service is still running at {service.address} as process {service.process.pid}.",
            f"  stop it:   kill {service.process.pid}",
            f"  its log:   {service.log}",
            f"  ask it:    curl -s {service.address}/v1/procedures -H 'Content-Type: application/json' \\",
            f"               -d '{_SMALLEST_LINE_ITEM}'",
            f"  draw one:  curl -s -H 'Accept: image/svg+xml' -o timeline.svg {timeline}",
        ]
    )
