"""Mutation testing of a pack: small changes of its rules that its own cases and assertions must notice.

R. A. DeMillo, R. J. Lipton and F. G. Sayward, Hints on test data selection: help for the practicing
programmer, Computer 11 (1978) 34-41.
"""
