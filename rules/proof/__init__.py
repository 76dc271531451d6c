"""Proof over the whole fact domain: what holds for every admissible combination of facts at once.

The domain of a working pack has more cells than can be visited one by one, so every rule becomes a
binary decision diagram over the cells of the facts (R. E. Bryant, Graph-based algorithms for Boolean
function manipulation, IEEE Transactions on Computers C-35 (1986) 677-691). A diagram is exact for all
cells; a fault is a diagram that is not empty, and any path through it is a witness.
"""
