"""Takes away what is no longer to be kept: all of a shop, or its old line items."""
