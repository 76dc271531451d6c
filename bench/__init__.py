"""What is claimed in figures, measured anew: `make bench`. Not shipped, and no test depends on a time."""
