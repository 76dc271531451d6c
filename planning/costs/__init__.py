"""Money: repair against replacement."""
