"""The sandbox of a shop over HTTP: every answer says that it is one, and failures come when asked for."""
