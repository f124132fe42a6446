"""Circuit files: a set's network of parts and tubes."""
