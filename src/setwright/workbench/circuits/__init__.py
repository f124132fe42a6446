"""Circuits in the workbench: the drawings of a family, and what to measure in each of its sets."""
