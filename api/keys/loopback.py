"""An open service is for this machine alone, also when a page of a stranger asks through a browser on it.

Such a page can let its own name lead to 127.0.0.1; the browser then sends that name as `Host`. Or it sends
a form to 127.0.0.1 from elsewhere; the browser then sends its `Origin`.
"""

from __future__ import annotations

import ipaddress
from urllib.parse import urlsplit

from flask import request

from api.problem_types import HOST_REFUSED
from api.problems import Problem


def refuse_strangers() -> None:
    """Raises Problem where the caller, `Host` or `Origin` is another than this machine."""
    # Whatever address a server was told to listen on. None: the caller came by a file of this machine.
    if request.remote_addr and not is_loopback(request.remote_addr):
        raise Problem(HOST_REFUSED, "an open service is for callers on its own machine alone")
    if not is_loopback(_name_in(f"//{request.host}")):
        told = f"an open service answers as localhost only, not as '{request.host[:80]}'"
        raise Problem(HOST_REFUSED, told)
    origin = request.headers.get("Origin")
    if origin is not None and not is_loopback(_name_in(origin)):
        raise Problem(HOST_REFUSED, f"an open service is not for pages of others, such as '{origin[:80]}'")


def is_loopback(host: str) -> bool:
    """Whether a name or address can only mean this machine."""
    try:
        return host == "localhost" or ipaddress.ip_address(host).is_loopback
    except ValueError:
        return False


def _name_in(address: str) -> str:
    """Empty where there is none."""
    try:
        return urlsplit(address).hostname or ""
    except ValueError:
        return ""
