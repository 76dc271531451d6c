"""Drawings of procedures as SVG: no scripts, nothing from outside, legible in monochrome print."""

from api.drawing.timeline import timeline_svg

__all__ = ["timeline_svg"]
