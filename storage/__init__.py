"""Keeps rule packs and issued procedures, in SQLite or PostgreSQL."""
