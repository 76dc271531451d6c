"""Why a demonstration stopped."""

from __future__ import annotations


class DemoFailed(Exception):
    """Something did not work as it should; the message says what, for a person."""
