"""What an edit of a pack changes, for whom: two packs compared over every admissible cell, not by lines."""
