"""What must hold in every case, whatever the facts: assertions of a pack, proven by `rules.proof`."""
