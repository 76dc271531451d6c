"""A procedure on the wire: `document` writes it, `answer` says what its members mean, topic by topic."""
