"""Migrations of the search index."""
