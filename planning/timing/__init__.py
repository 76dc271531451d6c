"""When: waits, windows, work as a distribution, the earliest schedule."""
