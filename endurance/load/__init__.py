"""Requests for long, at a steady rate: does it answer all of them, and does it stay as large as it was."""
