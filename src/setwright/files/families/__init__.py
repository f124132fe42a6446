"""Family files: features, lines, versions and documented bounds, read and checked."""
