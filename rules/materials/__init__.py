"""What plastic it is: markings read, names resolved to rows of the substrate table, bench tests weighed."""
