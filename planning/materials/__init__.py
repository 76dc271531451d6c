"""How much of what, and how it is mixed."""
