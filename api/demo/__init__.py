"""A demonstration: an invented shop's software asks the service for procedures over HTTP."""
