"""Which version is this set, what has been altered, what to look at next."""
