"""Arithmetic: from a decision to a procedure with order, windows, durations, materials and cost.

Pure functions over frozen dataclasses; no input or output; units stand in the names.
"""
