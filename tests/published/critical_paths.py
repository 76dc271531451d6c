"""Critical paths of published networks, by the temporal network of the project."""

from __future__ import annotations

from planning.timing.temporal import Constraint, minimal_network


def critical_path(activities):
    """Length and slack by activity; `activities` maps a name to (duration, predecessors)."""
    constraints = [Constraint(f"{name} ends", "finish", 0) for name in activities]
    for name, (duration, predecessors) in activities.items():
        constraints.append(Constraint("start", f"{name} starts", 0))
        constraints.append(Constraint(f"{name} starts", f"{name} ends", duration, duration))
        constraints += [Constraint(f"{before} ends", f"{name} starts", 0) for before in predecessors]
    moments = ("start", *(f"{name} {what}" for name in activities for what in ("starts", "ends")), "finish")
    network = minimal_network(moments, constraints)
    earliest, latest = network.earliest(), network.latest("finish")
    slacks = {name: latest[f"{name} starts"] - earliest[f"{name} starts"] for name in activities}
    return earliest["finish"], slacks
