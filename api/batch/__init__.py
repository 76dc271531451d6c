"""Many line items in one request, each answered as if it were sent alone."""
