"""What can go wrong with an engine, as opposed to with a pack or with facts."""

from __future__ import annotations


class EngineFault(RuntimeError):
    """The engine did not answer as it must; whatever it said is not to be used."""


class EngineClosed(EngineFault):
    """The engine was closed, or gave itself up; build another one."""
