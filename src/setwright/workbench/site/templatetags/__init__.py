"""Filters and tags the templates of the site use without loading them."""
