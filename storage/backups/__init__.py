"""A whole database into one file, and back."""
