"""Telling others of events: signed, tried again for three days, and only at addresses that may be reached."""
