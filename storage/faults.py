"""What can go wrong in the store, in words for people."""

from __future__ import annotations


class StoreUnavailable(Exception):
    """The database can't be reached or used; the message names its URL without the password."""


class StoreNotWritable(StoreUnavailable):
    """The database answers, and takes no changes: it has no room left, or is read only."""


class DifferentDocument(Exception):
    """Another document is kept under this id already. Issued procedures never change."""


class PackNotKept(LookupError):
    """Something is about a pack that the store does not have, or not for that shop."""


class CursorRefused(ValueError):
    """A cursor that this store did not give out."""


class ActivationConflict(Exception):
    """Another activation was entered meanwhile; look at it before deciding anew."""


class PackNotProven(Exception):
    """The last proof of the pack did not pass, or there is none."""


class PackInUse(Exception):
    """The shop has decided for the pack; what it was issued under it cites it."""


class TooManyPacks(Exception):
    """The shop keeps as many packs as it may."""


class BackupRefused(ValueError):
    """A backup cannot be made or restored so; what was there before is there still."""


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


class WebhookUnknown(LookupError):
    """The shop has no webhook with this id."""


class WebhookDisabled(ValueError):
    """Nothing is sent to the webhook until it is enabled again."""


class WebhookChanged(Exception):
    """The webhook is not as it was seen any more; look at it before deciding anew."""


class TooManyWebhooks(ValueError):
    """The shop has as many webhooks as it may."""


class EventsRefused(ValueError):
    """A webhook cannot be told of these events."""


class DeliveryUnknown(LookupError):
    """The webhook has no delivery of this event, or not any more."""
