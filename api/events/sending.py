"""Sends one request to an endpoint. What comes back is not trusted: of an answer only its status counts.

Its body is never read, redirects are not followed, nothing is remembered from one request to the next, and
whatever the environment says of proxies or passwords is left alone.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

import requests

from api.events.addresses import AddressRefused, Network, NotReachable, refuse_url
from api.events.connecting import Deadline, Guarded, NotConnected, OutOfTime

USER_AGENT = "stagewright"


@dataclass(frozen=True)
class Answered:
    """The status of an answer, and its `Retry-After` as it was sent."""

    status: int
    retry_after: str | None


class NotAnswered(Exception):
    """No answer came; the message says why, in words of our own."""


class Sender:
    """Sends to addresses that are public or in one of `networks`; a request ends after `timeout_s`.

    `authorities` is a file with the certificates to trust in place of the usual ones.
    """

    def __init__(
        self, networks: Sequence[Network], timeout_s: float, authorities: Path | None = None
    ) -> None:
        self._networks = networks
        self._timeout_s = timeout_s
        self._verify: bool | str = True if authorities is None else str(authorities)

    def post(self, url: str, headers: Mapping[str, str], body: str) -> Answered:
        """Post a JSON body. Raises NotAnswered."""
        deadline = Deadline(self._timeout_s)
        try:
            refuse_url(url, self._networks)
            return self._posted(url, headers, body, deadline)
        except AddressRefused as refused:
            raise NotAnswered(str(refused)) from None
        except NotReachable:
            raise NotAnswered("the host leads to no address that may be reached") from None
        except NotConnected as error:
            raise NotAnswered(str(error)) from None
        except (OutOfTime, requests.RequestException, OSError) as error:
            raise NotAnswered(self._told(error, deadline)) from None
        finally:
            deadline.close()

    def _posted(self, url: str, headers: Mapping[str, str], body: str, deadline: Deadline) -> Answered:
        with _Session() as session:
            for scheme in ("http://", "https://"):
                session.mount(scheme, Guarded(self._networks, deadline))
            with session.post(
                url,
                data=body.encode(),
                headers={**_HEADERS, **headers},
                timeout=self._timeout_s,
                allow_redirects=False,
                stream=True,
                verify=self._verify,
            ) as answer:
                # A connection that was ended in the middle of the headers looks like their end.
                if deadline.left_s <= 0:
                    raise OutOfTime
                return Answered(answer.status_code, answer.headers.get("Retry-After"))

    def _told(self, error: Exception, deadline: Deadline) -> str:
        if deadline.left_s <= 0 or isinstance(error, OutOfTime | requests.Timeout):
            return f"no answer within {self._timeout_s:g} s"
        if isinstance(error, requests.exceptions.SSLError):
            return (
                "no TLS: the certificate does not hold for this host, or the two do not understand each other"
            )
        return "the connection ended before the answer, or what came is no HTTP"


_HEADERS = {
    "User-Agent": USER_AGENT,
    "Accept": "*/*",
    "Accept-Encoding": "identity",
    "Connection": "close",
    "Content-Type": "application/json",
}


class _Session(requests.Session):
    def __init__(self) -> None:
        super().__init__()
        self.trust_env = False

    def get_redirect_target(self, resp: requests.Response) -> None:
        """None: even where it does not follow, the library reads the whole body of a redirect."""
