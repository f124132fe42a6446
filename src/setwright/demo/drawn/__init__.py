"""Pictures of sets that were never built: drawn as SVG, made into photographs of a kind when they are asked for."""

from __future__ import annotations

from setwright.demo.drawn.developing import PHOTO, SCAN, Developed, developed, pdf_of
from setwright.demo.drawn.strokes import Drawing

__all__ = ["PHOTO", "SCAN", "Developed", "Drawing", "developed", "pdf_of"]
