"""Which engine evaluates a pack: durable-rules where it imports, the reference evaluator elsewhere."""

from __future__ import annotations

import logging
import sys
from collections.abc import Callable
from functools import cache

from rules.engines import Engine
from rules.engines.reference import ReferenceEngine
from rules.pack import Pack

log = logging.getLogger(__name__)


def engine_for(pack: Pack) -> Engine:
    """An engine built for `pack`. Raises EngineLimit when durable-rules can't take it safely."""
    return _engine_class()(pack)


@cache
def _engine_class() -> Callable[[Pack], Engine]:
    """Found out once, so that the warning is given once."""
    if sys.version_info < (3, 13):
        try:
            from rules.engines.durable_adapter import DurableEngine

            return DurableEngine
        except ImportError as error:
            if not (error.name or "").startswith("durable"):
                raise
            reason = str(error)
    else:
        reason = "it does not run on Python 3.13 and later"
    log.warning("durable-rules is not used (%s); the reference evaluator answers instead", reason)
    return ReferenceEngine
