"""What makes writing a pack comfortable: layout, comparison, scaffolds, coverage and mutants."""
