"""When a set was built: its pages, pictures and tables."""
