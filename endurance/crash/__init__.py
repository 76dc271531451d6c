"""The service is killed in the midst of writing, again and again: what it has acknowledged is there, once."""
