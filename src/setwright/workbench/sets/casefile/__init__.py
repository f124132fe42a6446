"""The case of a set: intake, condition, notes, wants, readings, and the observations made before."""
