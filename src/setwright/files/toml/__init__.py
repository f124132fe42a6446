"""TOML text with its places: where each key stands, and editing one table at a time."""
