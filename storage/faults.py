"""What can go wrong in the store, in words for people."""

from __future__ import annotations


class StoreUnavailable(Exception):
    """The database can't be reached or used; the message names its URL without the password."""


class DifferentDocument(Exception):
    """Another document is kept under this id already. Issued procedures never change."""


class PackNotKept(LookupError):
    """A procedure names a pack that the store does not have; `keep_pack` comes first."""


class CursorRefused(ValueError):
    """A cursor that this store did not give out."""


class ActivationConflict(Exception):
    """Another activation was entered meanwhile; look at it before deciding anew."""


class PackNotProven(Exception):
    """The last proof of the pack did not pass, or there is none."""


class ShopUnknown(LookupError):
    """No shop has this id."""


class ShopRefused(ValueError):
    """A shop cannot have this id."""


class ScopesRefused(ValueError):
    """A key cannot have these scopes."""


class KeyUnknown(LookupError):
    """No key has this prefix."""


class KeyEnded(ValueError):
    """The key was revoked, has expired or was replaced; nothing can be done with it."""
