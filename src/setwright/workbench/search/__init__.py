"""Search over everything: one index of all records, kept with them, and the page that asks it."""
