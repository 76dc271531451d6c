"""How long things last in the kit: much shorter than in earnest, so that all of it takes seconds."""

from __future__ import annotations

RETRY_AFTER_S = 1
"""What the service asks for; it says whole seconds. In earnest 1 to 60."""

TIMEOUT_S = 2.5
"""So long the client waits for an answer; in earnest 30 or so."""

HELD_S = 5.5
"""So long an answer does not come."""

FIRST_WAIT_S = 0.2
"""The first of its waits where no time is named; in earnest one second or so."""

MOST_TRIES = 4
"""So often it sends a request at most."""

LATE_S = 4.0
"""So much later than it should a client may be, as others are at work on its machine too."""

EARLY_S = 0.02
"""So much earlier, as clocks are read one after another."""
