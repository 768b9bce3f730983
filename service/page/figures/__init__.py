"""Figures of a decision: each is drawn only if it explains, and carries its numbers as a table."""

from service.page.figures.figure import NumberTable, PageFigure

__all__ = ["NumberTable", "PageFigure"]
