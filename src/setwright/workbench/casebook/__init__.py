"""Casebooks out and in: everything of a workshop, or of some families, as one file that another Setwright takes in."""
