"""The documents on the demonstration's literature shelf, one file each; all of them invented."""
