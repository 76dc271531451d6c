"""What the trade knows: rule packs in YAML, and the code that loads, checks and evaluates them."""
