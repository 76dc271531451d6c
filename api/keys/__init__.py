"""Who asks: keys, what each is for, and the shop it works for."""
