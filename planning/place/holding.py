"""A procedure whose stages and timeline say what has to be mended before they are begun."""

from __future__ import annotations

from dataclasses import replace

from planning.model import Procedure


def held_back(procedure: Procedure) -> Procedure:
    """The procedure with the stages that its place holds back marked as such; times stay as they are."""
    place = procedure.place
    if place is None or place.warning is None:
        return procedure
    stages = tuple(replace(stage, held=place.held(stage.stage)) for stage in procedure.stages)
    held = tuple(stage.stage for stage in stages if stage.held)
    return replace(procedure, stages=stages, timeline=replace(procedure.timeline, held=held))
