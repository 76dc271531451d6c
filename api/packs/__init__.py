"""Versions of rule packs in the running service: kept, proven, compared and put in force."""
