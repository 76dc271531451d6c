"""Whether the place of work allows the work."""
