"""How much each shop may ask for in a stretch of time."""
