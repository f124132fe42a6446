"""Survivors: other known sets of a family."""
