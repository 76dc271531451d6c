"""The kit from end to end."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import closing, contextmanager

from api.conformance import inbox, reading, sending, waiting
from api.conformance.driver import Driver
from api.conformance.kit import Kit
from api.conformance.model import Judge, Verdict
from api.conformance.scale import FIRST_WAIT_S, MOST_TRIES, TIMEOUT_S
from api.conformance.service import Played, Service, on_stage
from storage.webhook_secrets import new_secret

CHECKS = (*sending.CHECKS, *waiting.CHECKS, *reading.CHECKS, *inbox.CHECKS)


def verdicts_on(driver_url: str, service: Service, host: str, port: int) -> list[Verdict]:
    """Play everything to the client behind a driver.

    Raises DriverFault, and OSError where nobody can listen there.
    """
    with on_stage(service, host, port) as played, _kit(driver_url, played) as kit:
        sending.play_sending(kit)
        waiting.play_waiting(kit)
        reading.play_reading(kit)
        sending.judge_every_request(kit)
        inbox.play_inbox(kit)
        return kit.judge.verdicts(CHECKS)


@contextmanager
def _kit(driver_url: str, played: Played) -> Iterator[Kit]:
    with closing(Driver(driver_url)) as driver:
        kit = Kit(driver, played, Judge(), new_secret())
        kit.caches = driver.configure(
            {
                "service": played.address,
                "key": played.key,
                "webhook_secret": kit.webhook_secret,
                "timeout_s": TIMEOUT_S,
                "first_wait_s": FIRST_WAIT_S,
                "most_tries": MOST_TRIES,
            }
        )
        yield kit
