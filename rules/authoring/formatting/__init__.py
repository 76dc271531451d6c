"""The canonical layout of pack files: indentation, order of members, quotes, blanks; comments stay."""

from rules.authoring.formatting.layout import laid_out
from rules.authoring.formatting.tree import CannotLayOut

__all__ = ["CannotLayOut", "laid_out"]
