"""Signed links: an address that opens one thing of a shop without a key, for a while."""
