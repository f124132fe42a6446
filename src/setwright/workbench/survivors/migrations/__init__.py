"""Changes of the tables."""
