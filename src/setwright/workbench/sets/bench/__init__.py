"""At the bench: one screen for each access, an observation in three taps, and what it changed."""
