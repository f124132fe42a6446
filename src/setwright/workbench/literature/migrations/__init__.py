"""Migrations of the literature shelf."""
