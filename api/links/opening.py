"""The guard of everything that a signed link opens."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime
from functools import wraps

from flask import Response, after_this_request, g

from api.limiting.holding import hold_to_links
from api.links.tokens import Claims, is_genuine, read
from api.problem_types import LINK_EXPIRED, LINK_REFUSED
from api.problems import Problem
from api.shops import current_shop
from api.snapshot import store_in_use
from schemas.figures import moment
from storage.audit import Who
from storage.records import KeptProcedure

HIDDEN = {
    "Cache-Control": "private, no-store",
    "Referrer-Policy": "no-referrer",
    "X-Robots-Tag": "noindex, nofollow",
}
"""Nobody keeps, passes on or lists what a link opens: whoever has the address can read it."""

Opening = Callable[[KeptProcedure], Response]


def opened_by_link(opens: str) -> Callable[[Opening], Callable[[str], Response]]:
    """Serve a view to whoever comes with a link that opens this, and to nobody else.

    The view is open to all, and has `<token>` in its path. It is called with the procedure that the link
    opens, in a request that is made for the shop of the link. It only reads: a link is no key.
    """

    def decorator(view: Opening) -> Callable[[str], Response]:
        @wraps(view)
        def guarded(token: str) -> Response:
            after_this_request(_hide)
            claims = _let_in(token, opens)
            hold_to_links()
            procedure = store_in_use().procedure(current_shop(), claims.procedure_id)
            if procedure is None:
                raise _refused()
            return view(procedure)

        return guarded

    return decorator


def _let_in(token: str, opens: str) -> Claims:
    """Raises Problem."""
    claims = read(token)
    secret = None if claims is None else store_in_use().links.find(claims.handle)
    if claims is None or secret is None or not is_genuine(token, claims, opens, secret):
        raise _refused()
    if datetime.now(UTC) >= claims.expires_at:
        raise Problem(LINK_EXPIRED, f"this link opened something until {moment(claims.expires_at)}")
    g.caller = Who(secret.shop, None)
    return claims


def _refused() -> Problem:
    """The same whatever is wrong."""
    return Problem(LINK_REFUSED, "this link opens nothing; ask the shop for a new one")


def _hide(response: Response) -> Response:
    response.headers.update(HIDDEN)
    return response
