"""What a shop's finished jobs say about how long its stages take."""
