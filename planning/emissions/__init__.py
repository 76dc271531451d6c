"""Volatile organic compounds, and the limits they are held against."""
