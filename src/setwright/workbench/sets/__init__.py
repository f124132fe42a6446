"""Sets: the shelf of sets on the bench, and what each of them is."""
